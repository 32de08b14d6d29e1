"""How old the newest check of a sieve is."""

import pytest

from ramphold.sample import Equipment, EquipmentChecked, EquipmentState

DAY_NS = 86_400 * 10**9


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (-3.0, ()),
        (180.9, ()),
        (181.5, ("181 days since the last check: expected 180 or less",)),
    ],
)
def test_a_sieve_is_due_once_it_is_a_whole_day_over_the_limit(days, said):
    check = EquipmentChecked(
        record=1, operator="KL", utc_ns=0, equipment=Equipment.SIEVE, name="A", sieve=40,
        finding="no tears",
    )  # fmt: skip
    assert EquipmentState(check=check, uses=0).wear(round(days * DAY_NS)).due == said
