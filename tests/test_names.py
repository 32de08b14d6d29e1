"""A name has one meaning in the whole program, and no module or function outgrows a reader."""

import ast
from collections import defaultdict
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
MODULES = sorted(
    path for top in ("logger", "tui") for path in (ROOT / top).rglob("*.py")
)  # fmt: skip

#: Most lines of a module, and of a function without its decorators.
MODULE_LINES, FUNCTION_LINES = 350, 45


@cache
def tree(path):
    return ast.parse(path.read_text())


def name(path):
    return str(path.relative_to(ROOT))


def nodes(path, *kinds):
    return [node for node in ast.walk(tree(path)) if isinstance(node, kinds)]


def test_the_program_has_modules():
    assert len(MODULES) > 100


def test_every_public_class_name_is_defined_once():
    places = defaultdict(list)
    for path in MODULES:
        for one in nodes(path, ast.ClassDef):
            if not one.name.startswith("_"):
                places[one.name].append(name(path))
    assert {key: where for key, where in places.items() if len(where) > 1} == {}


def test_every_module_is_short():
    long = {name(path): text for path in MODULES
            if (text := path.read_text().count("\n")) > MODULE_LINES}  # fmt: skip
    assert long == {}


def test_every_function_is_short():
    long = {
        f"{name(path)}:{one.name}": lines
        for path in MODULES
        for one in nodes(path, ast.FunctionDef, ast.AsyncFunctionDef)
        if (lines := one.end_lineno - one.lineno + 1) > FUNCTION_LINES
    }
    assert long == {}


def test_only_a_module_that_re_exports_lists_its_names():
    """An underscore already says which of a module's own names are private."""
    listing_its_own = {}
    for path in MODULES:
        lists = [
            one
            for one in tree(path).body
            if isinstance(one, ast.Assign) and getattr(one.targets[0], "id", "") == "__all__"
        ]
        imported = {alias.name for one in nodes(path, ast.ImportFrom) for alias in one.names}
        if (
            lists
            and path.name != "__init__.py"
            and not imported & set(ast.literal_eval(lists[0].value))
        ):
            listing_its_own[name(path)] = lists[0].lineno
    assert listing_its_own == {}
