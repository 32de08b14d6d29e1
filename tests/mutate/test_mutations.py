"""What `make mutate` changes, and where a change goes."""

import ast
import sys
import textwrap
import tomllib

import pytest

from mutate.__main__ import EQUIVALENT
from mutate.mutations import blocks, changes, mutant
from mutate.swap import swap, swap_values
from mutate.tree import chosen, code
from ramphold import method
from ramphold.method import cell, outliers
from ramphold.method.outliers import grubbs


def mutants(source, *, fine=False):
    source = textwrap.dedent(source)
    return [mutant(source, *change, fine=fine) for change in changes(source, fine=fine)]


@pytest.mark.parametrize(
    ("line", "changed"),
    [
        ("a < b <= c", ["a <= b <= c", "a < b < c"]),
        ("a + b", ["a - b"]),
        ("a | b", ["a"]),
        ("a and b", ["a or b"]),
        ("not a", ["a"]),
        ("min(a, b)", ["max(a, b)"]),
        ("a if b else c", ["c if b else a"]),
        ("a is None", ["a is not None"]),
        ("f(a, 7)", ["f(a, 8)"]),
        ("zip(a, b, strict=True)", []),
        ("'text'", []),
        ("int | Reading", []),
    ],
)
def test_each_kind_of_expression_has_its_wrong_ones(line, changed):
    assert [one.now for one in mutants(f"x = {line}")] == [f"x = {one}" for one in changed]


@pytest.mark.parametrize(
    ("line", "changed"),
    [
        ("return a", "return None"),
        ("a += b", "a = b"),
        ("f(a)", "pass"),
        ("raise InputError(a)", "pass"),
        ("if a: f = b", "if not a:"),
    ],
)
def test_each_kind_of_statement_has_its_wrong_one(line, changed):
    (one,) = mutants(f"def f(a, b):\n    {line}")
    assert one.now == changed


def test_figures_move_by_a_hundredth_where_a_standard_gives_them_and_else_to_four_times():
    assert [one.now for one in mutants("x = 2.0", fine=True)] == ["x = 2.02"]
    assert [one.now for one in mutants("x = 2.0")] == ["x = 8.0"]


def test_annotations_texts_and_imports_are_left_alone():
    assert not mutants(
        """
        '''What it is.'''
        from a import b
        x: int | None
        class One(Base, frozen=True):
            '''Its doc.'''
            mass_g: float | None
            @property
            def two(self, given: int | None) -> float | None:
                '''Its doc.'''
        """
    )


def test_a_change_names_its_function_and_the_block_in_which_it_runs():
    source = """
    class One:
        def two(self, a):
            b = 1
            if a > 3:
                return b
            return b + a
    """
    statements = blocks(ast.parse(textwrap.dedent(source)))
    found = {one.now: (one.function, one.line, one.block) for one in mutants(source)}
    assert found["b = 2"] == ("One.two", 4, 0)
    assert found["return b - a"] == ("One.two", 7, 0)
    assert found["return None"][:2] == ("One.two", 7)
    assert [len(block) for block in statements] == [3, 1]


def test_a_swapped_function_is_wrong_for_all_that_imported_it():
    right = outliers.grubbs.__code__
    try:
        before = grubbs([1.0, 1.1, 0.9, 5.0])
        swap("method/outliers.py", "grubbs", "def grubbs(*_, **__):\n    return 'wrong'")
        assert grubbs([1.0, 1.1, 0.9, 5.0]) == "wrong" != before
    finally:
        outliers.grubbs.__code__ = right


def test_a_swapped_value_is_wrong_for_all_that_imported_it(monkeypatch):
    right = cell.STANDARD_BORE_IN
    # All of them have it back afterwards: other tests run in this process.
    for one in [one for one in sys.modules.values() if vars(one).get("STANDARD_BORE_IN") is right]:
        monkeypatch.setattr(one, "STANDARD_BORE_IN", right)
    monkeypatch.setattr(method, "STANDARD_BORE_IN", right, raising=False)
    swap_values("method/cell.py", code("method/cell.py").replace(f"IN = {right}", "IN = 3.5"))
    assert (cell.STANDARD_BORE_IN, method.STANDARD_BORE_IN) == (3.5, 3.5)


def line(test, *blocks, s=1.0, fixtures=()):
    return {"test": test, "blocks": blocks, "fixtures": fixtures, "s": s}


REACHED = (
    line("tests/wire/test_lines.py::test_far", "method/cell.py#1"),
    line("tests/method/test_cell.py::test_near", "method/cell.py#1", "method/cell.py#2"),
    line("tests/method/test_cell.py::test_slow", "method/cell.py#1", s=9.0),
    line("tests/method/test_fines.py::test_other", "method/fines.py#1"),
)


@pytest.mark.parametrize(
    ("block", "most_s", "tests"),
    [
        (1, 60, ["near", "slow", "far"]),  # those of its own folder first
        (1, 5, ["near", "far"]),
        (2, 60, ["near"]),
        (None, 60, ["near", "slow", "far", "other"]),  # its own folder's besides, as for a value
        (7, 60, ["near", "slow", "far", "other"]),  # a block that no test runs
    ],
)
def test_a_change_is_judged_by_every_test_that_reaches_it_as_far_as_there_is_time(
    block, most_s, tests
):
    found = chosen(REACHED, "method/cell.py", block, most_s)
    assert [one["test"].partition("::test_")[2] for one in found] == tests


def test_what_is_listed_as_changing_nothing_has_a_reason():
    for one in tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))["equivalent"]:
        assert len(one["reason"].split()) > 5
        assert one["was"] != one["now"]
