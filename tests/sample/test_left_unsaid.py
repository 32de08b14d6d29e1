"""What a record means where it leaves a field out, as one written before the field was there does.

README and the records' own words are the source: a changed meaning would change old samples.
"""

import msgspec
import pytest

from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    BaseRecord,
    EquipmentChecked,
    Role,
    RunFinished,
    SampleReceived,
    SpecimenAdded,
    Ticked,
    UnusualValueKept,
)


@pytest.mark.parametrize(
    ("kind", "meant"),
    [
        # Not kept yet, so without a number; and the bench's own, of no sample.
        (BaseRecord, {"record": 0, "sample": None}),
        (SpecimenAdded, {"specimen": 0}),
        (SampleReceived, {
            "use": "fracturing", "role": Role.CLIENT, "tests": (SIEVING, DENSITY, CRUSH),
            "charge_tolerance_g": 0.1, "sieves_net": False, "density_fills": 1,
            "mass_balance": False, "guard_band": 0.0,
        }),
        (EquipmentChecked, {"usable": True, "new": False}),
        (UnusualValueKept, {"in_use": True}),
        (Ticked, {"done": True}),
        (RunFinished, {"by_pressure": False}),
    ],
)  # fmt: skip
def test_a_field_that_is_left_out_means_what_was_so_before_it_was_there(kind, meant):
    found = {one.name: one.default for one in msgspec.structs.fields(kind)}
    assert {name: found[name] for name in meant} == meant
