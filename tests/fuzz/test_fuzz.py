"""A little of the fuzzing with every run of the tests; `make fuzz` does more."""

import pytest

from fuzz.__main__ import run
from fuzz.targets import TARGETS, Target, holds


@pytest.mark.parametrize("target", TARGETS, ids=lambda one: one.name)
def test_a_reader_takes_its_own_seeds(target):
    for seed in target.seeds:
        holds(target, seed)


@pytest.mark.parametrize("target", TARGETS, ids=lambda one: one.name)
def test_a_reader_raises_nothing_but_errors_of_ours(target):
    assert run(target, seed=20, examples=25) is None


def test_a_fault_is_found_and_made_small():
    def read(data):
        if b"NaN" in data:
            raise ZeroDivisionError

    found = run(Target(name="planted", seeds=(b"1.5,2.5\n",), read=read), seed=1, examples=500)
    assert found is not None
    assert b"NaN" in found[0]
    assert len(found[0]) <= len(b"1.5,2.5\nNaN")
    assert "ZeroDivisionError" in found[1]
