"""How old the newest check of a sieve is, and whether an inspection is overdue."""

import pytest

from ramphold.sample import Equipment, EquipmentChecked, EquipmentState

DAY_NS = 86_400 * 10**9
CHECKED_NS = 20_000 * DAY_NS


def checked(utc_ns, equipment=Equipment.SIEVE, **fields):
    check = EquipmentChecked(
        record=1, operator="KL", utc_ns=utc_ns, equipment=equipment, name="A", sieve=40,
        finding="no tears", **fields,
    )  # fmt: skip
    return EquipmentState(check=check, uses=0)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (-3.0, ()),
        (180.9, ()),
        (181.0, ("181 days since the last check: expected 180 or less",)),
        (181.5, ("181 days since the last check: expected 180 or less",)),
    ],
)
def test_a_sieve_is_due_once_it_is_a_whole_day_over_the_limit(days, said):
    assert checked(CHECKED_NS).wear(CHECKED_NS + round(days * DAY_NS)).due == said


def test_a_sieve_is_not_worn_on_the_day_of_its_check():
    assert checked(CHECKED_NS).wear(CHECKED_NS).used_pct == 0.0


@pytest.mark.parametrize(
    ("day", "said"), [(0, ()), (1, ()), (2, ("its inspection was due on 1970-01-02",))]
)
def test_an_inspection_may_be_made_on_its_day_and_is_overdue_on_the_next(day, said):
    state = checked(0, Equipment.INSTRUMENT, due="1970-01-02")
    assert state.wear(day * DAY_NS).due == said
