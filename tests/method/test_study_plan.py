"""A study's plan is drawn fairly, and what departs from it is said."""

from collections import Counter

import pytest

from ramphold.errors import InputError
from ramphold.method.study_plan import StudyResult, departures, plan_study

NAMES = ("KL", "MM", "RS", "TU")


def test_everybody_crushes_once_in_each_round_a_portion_of_their_own():
    plan = plan_study(NAMES, 3, seed=7)
    assert [one.order for one in plan] == list(range(1, 13))
    for number in (1, 2, 3):
        assert sorted(one.participant for one in plan if one.round == number) == sorted(NAMES)
    assert [one.round for one in plan] == [1] * 4 + [2] * 4 + [3] * 4
    assert sorted(one.portion for one in plan) == list(range(1, 13))


def test_a_seed_gives_one_plan_and_another_seed_another():
    assert plan_study(NAMES, 3, seed=7) == plan_study(NAMES, 3, seed=7) != plan_study(NAMES, 3, 8)


def test_over_many_seeds_nobody_is_favoured_in_place_or_portion():
    firsts = Counter(plan_study(NAMES, 2, seed)[0].participant for seed in range(800))
    portions = Counter(plan_study(NAMES, 2, seed)[0].portion for seed in range(800))
    # 200 of each name expected, 100 of each portion; five standard errors.
    assert all(abs(firsts[name] - 200) < 62 for name in NAMES)
    assert all(abs(portions[at] - 100) < 47 for at in range(1, 9))


@pytest.mark.parametrize(
    ("names", "results"),
    [(("A", "B"), 3), (NAMES, 1), (NAMES, 0), (("A", "B", "A"), 2), (NAMES, 999)],
)
def test_a_plan_that_shows_nothing_is_refused(names, results):
    with pytest.raises(InputError):
        plan_study(names, results, 1)


def found(plan):
    return [
        StudyResult(
            participant=one.participant,
            fines_pct=9.0,
            sample="26-1",
            specimen=one.order,
            label=f"{one.order:02d}",
            crushed=f"2026-03-03 08:{one.order:02d}:00",
        )
        for one in plan
    ]


def test_what_was_done_as_planned_departs_in_nothing():
    plan = plan_study(NAMES, 2, seed=1)
    assert list(departures(plan, found(plan))) == []


def test_each_departure_is_named():
    plan = plan_study(NAMES, 2, seed=1)
    first, second, third, fourth, *others = found(plan)
    late = StudyResult(**{**_fields(second), "crushed": "2026-03-03 08:03:30"})
    swapped = StudyResult(**{**_fields(third), "participant": "XY"})
    stray = StudyResult(**{**_fields(fourth), "label": "a", "specimen": 40})
    said = list(departures(plan, [first, late, swapped, stray, *others, first]))
    assert said == [
        "crush 1 is there twice: specimen 1 of 26-1, and specimen 1",
        f"crush 3 was planned for {plan[2].participant}, and is by XY",
        "crush 2 was made after crush 3",
        "specimen 40 of 26-1, labelled 'a', is not in the plan",
        f"crush 4 by {plan[3].participant} is missing, or does not count",
    ]


def _fields(one):
    return {name: getattr(one, name) for name in StudyResult.__dataclass_fields__}
