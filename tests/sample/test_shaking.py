"""What is on the shaker follows from the records alone, so that it survives everything else."""

import pytest

from ramphold.sample import (
    ExclusionDecided,
    Load,
    MassTaken,
    Shaking,
    ShakingEnded,
    ShakingStarted,
    newest_shaking,
    standing_shakings,
)

S = 10**9
WHO = {"operator": "KL"}


def started(record, at_s=0, specimen=None, sample=1, planned_s=600):
    return ShakingStarted(
        record=record, sample=sample, specimen=specimen, utc_ns=at_s * S, planned_s=planned_s, **WHO
    )


def ended(shaking, at_s, specimen=None):
    return ShakingEnded(
        record=99, sample=1, specimen=specimen, utc_ns=at_s * S, shaking=shaking, **WHO
    )


def mass(load=Load.GROSS, item="pan", specimen=None, test="crush", **more):
    return MassTaken(
        record=50, sample=1, specimen=specimen, utc_ns=0, test=test, item=item, load=load,
        mass_g=1.0, t_ns=0, **more, **WHO,
    )  # fmt: skip


def numbers(*records):
    return [one.started.record for one in standing_shakings(records)]


def test_several_stand_at_once_and_the_first_to_be_done_is_in_front():
    assert numbers(
        started(1, planned_s=600), started(2, 60, specimen=4, planned_s=300), started(3, sample=2)
    ) == [2, 1, 3]


def test_it_stands_after_its_time_until_somebody_says_that_it_is_off():
    assert numbers(started(1), started(2, specimen=4)) == [1, 2]
    assert numbers(started(1), started(2, specimen=4), ended(1, 700)) == [2]


@pytest.mark.parametrize(
    ("record", "left"),
    [
        (mass(specimen=4), []),
        (mass(specimen=4, item="retained", load=Load.NET), []),
        (mass(specimen=4, load=Load.TARE), [1]),  # the pan may be tared while the shaker runs
        (mass(specimen=5), [1]),
        (mass(specimen=4, corrects=7, reason="misread"), [1]),
        (mass(test="sieve analysis", item="20"), [1]),
        (ExclusionDecided(utc_ns=0, sample=1, specimen=4, excluded=True, reason="x", **WHO), []),
        (ExclusionDecided(utc_ns=0, sample=1, specimen=4, excluded=False, reason="x", **WHO), [1]),
    ],
)
def test_it_is_off_when_what_it_left_was_weighed_or_its_specimen_is_left_out(record, left):
    assert numbers(started(1, specimen=4), record) == left


def test_the_same_put_on_anew_takes_the_place_of_what_was_there():
    assert numbers(started(1, specimen=4), started(2, 30, specimen=4)) == [2]


@pytest.mark.parametrize(
    ("off_s", "shaken_s"), [(None, 600.0), (240, 240.0), (600, 600.0), (900, 600.0)]
)
def test_it_was_shaken_as_planned_or_until_it_was_taken_off(off_s, shaken_s):
    off = None if off_s is None else ended(1, 1000 + off_s)
    shaking = Shaking(started=started(1, 1000), ended=off)
    assert shaking.shaken_s == shaken_s
    assert shaking.planned_end_utc_ns == 1600 * S


def test_the_newest_shaking_is_that_of_the_specimen_with_its_own_end():
    records = (started(1, specimen=4), started(2), ended(2, 60), started(3, 90, specimen=4))
    assert newest_shaking(records, 4) == Shaking(started=records[3])
    assert newest_shaking(records, None) == Shaking(started=records[1], ended=records[2])
    assert newest_shaking(records, 5) is None
