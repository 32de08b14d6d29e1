"""How a mass is kept: at a place that exists, right for its specimen, beside those that stand."""

from msgspec import structs

from ramphold.control.sample_methods import CorrectMass, Weigh
from ramphold.daemon._balance import Weighed
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import (
    CRUSH,
    CYLINDER,
    Load,
    MassTaken,
    Place,
    check_charge,
    check_place,
)
from ramphold.store import Store

__all__ = ["correct_mass", "keep_mass"]


def keep_mass(store: Store, wanted: Weigh, weighed: Weighed, utc_ns: int) -> MassTaken:
    """Keep a mass at a place of a sample, of a specimen or of the bench.

    Raises:
        CommandRefused: it may not be kept there, or it is a charge off its target and nobody gave
            a reason to keep it anyway.
        InputError: there is no such place, sample or specimen.
    """
    place = Place(test=wanted.test, item=wanted.item, load=wanted.load, specimen=wanted.specimen)
    check_place(place)
    return _keep(
        store,
        MassTaken(
            **structs.asdict(place),
            **structs.asdict(weighed),
            sample=_sample_of(store, place, wanted.sample),
            operator=wanted.operator,
            utc_ns=utc_ns,
            anyway=wanted.anyway,
        ),
    )


def correct_mass(store: Store, wanted: CorrectMass, weighed: Weighed, utc_ns: int) -> MassTaken:
    """Keep a mass in another's place.

    Raises:
        CommandRefused: that one does not stand any more, or the new one may not be kept there.
        InputError: there is no such mass.
    """
    old = store.masses.one(wanted.mass)
    return _keep(
        store,
        structs.replace(
            old,
            **structs.asdict(weighed),
            operator=wanted.operator,
            utc_ns=utc_ns,
            corrects=old.record,
            reason=wanted.reason,
            anyway=wanted.anyway,
        ),
    )


def _keep(store: Store, mass: MassTaken) -> MassTaken:
    is_charge = (mass.test, mass.item, mass.load) == (CRUSH, "charge", Load.NET)
    if is_charge and mass.sample is not None and mass.anyway is None:
        check_charge(store.samples.record(mass.sample), mass.specimen or 0, mass.mass_g)
    return store.masses.take(mass)


def _sample_of(store: Store, place: Place, which: int | str | None) -> int | None:
    """The sample whose chain a mass belongs in."""
    given = None if which is None else store.samples.number(which)
    if place.specimen is not None:
        own = store.specimens.one(place.specimen).sample
        if given not in (None, own):
            raise CommandRefused(f"specimen {place.specimen} is not one of that sample")
        return own
    if place.test == CYLINDER:
        return None
    if given is None:
        raise InputError(f"{place} is weighed for a sample: expected its number")
    return given
