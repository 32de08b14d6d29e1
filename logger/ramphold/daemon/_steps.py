"""Steps of the worksheet that are not weighed: cylinder, ticks, entered values.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from ramphold.control import sample_methods as methods
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import (
    CylinderChosen,
    Ticked,
    ValueEntered,
    check_value,
)
from ramphold.store import Store

__all__ = ["choose_cylinder", "enter_value", "see_to"]


def choose_cylinder(store: Store, wanted: methods.ChooseCylinder, utc_ns: int) -> CylinderChosen:
    """Measure a sample's density with a cylinder.

    Raises:
        InputError: no such sample, or no such cylinder was calibrated.
    """
    cylinders = store.bench.record().cylinders
    found = next((one for one in cylinders if one.cylinder == wanted.cylinder), None)
    if found is None:
        known = ", ".join(one.cylinder for one in cylinders) or "none yet"
        raise InputError(f"cylinder {wanted.cylinder!r} was never calibrated: there is {known}")
    return store.records.append(
        CylinderChosen(
            sample=store.samples.number(wanted.sample),
            operator=wanted.operator,
            utc_ns=utc_ns,
            cylinder=found.cylinder,
            volume_cm3=found.volume_cm3,
            calibration=found.record,
        )
    )


def see_to(store: Store, wanted: methods.SeeTo, utc_ns: int) -> Ticked:
    """Tick something, or take the tick back.

    Raises:
        InputError: there is no such specimen.
    """
    return store.records.append(
        Ticked(
            sample=store.specimens.one(wanted.specimen).sample,
            operator=wanted.operator,
            utc_ns=utc_ns,
            specimen=wanted.specimen,
            what=wanted.what,
            done=wanted.done,
        )
    )


def enter_value(store: Store, wanted: methods.EnterValue, utc_ns: int) -> ValueEntered:
    """Keep a result that a person enters, or one in another's place.

    Raises:
        CommandRefused: another stands there, or not the one to be corrected.
        InputError: no such sample or property, or no value of it.
    """
    sample = store.samples.number(wanted.sample)
    if (wanted.corrects is None) != (wanted.reason is None):
        raise InputError("a correction needs the record that it corrects, and a reason")
    value = ValueEntered(
        sample=sample,
        operator=wanted.operator,
        utc_ns=utc_ns,
        what=wanted.what,
        value=wanted.value,
        counts=wanted.counts,
        corrects=wanted.corrects,
        reason=wanted.reason,
    )
    check_value(store.samples.record(sample).sample, value)
    there = store.records.of_kind(ValueEntered, sample)
    corrected = {one.corrects for one in there}
    stands = [one for one in there if one.what == value.what and one.record not in corrected]
    if [one.record for one in stands] != ([] if value.corrects is None else [value.corrects]):
        what = f"record {stands[0].record} stands" if stands else "none stands"
        raise CommandRefused(f"{value.what}: {what}: correct that one, with a reason")
    return store.records.append(value)
