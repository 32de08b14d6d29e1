"""How a mass is kept: at a place that exists, right for its specimen, beside those that stand."""

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

__all__ = ["correct_mass", "keep_mass", "sample_number"]


def sample_number(store: Store, which: int | str) -> int:
    """The number of a sample, given by that or by its laboratory number.

    Raises:
        InputError: there is no such sample.
    """
    if isinstance(which, int):
        return store.received(which).sample or which
    found = store.find_sample(which)
    if found is None:
        raise InputError(f"there is no sample {which}")
    return found


def keep_mass(  # noqa: PLR0913 - a mass, where it goes, and who weighed it
    store: Store,
    place: Place,
    weighed: Weighed,
    *,
    sample: int | str | None,
    operator: str,
    utc_ns: int,
    anyway: str | None = None,
) -> MassTaken:
    """Keep a mass at a place of a sample, of a specimen or of the bench.

    Raises:
        CommandRefused: it may not be kept there; it is a charge off its target, and nobody gave
            a reason to keep it anyway.
        InputError: there is no such place, sample or specimen.
    """
    check_place(place)
    whose = _sample_of(store, place, sample)
    return _keep(
        store, place, weighed, sample=whose, operator=operator, utc_ns=utc_ns, anyway=anyway
    )


def correct_mass(  # noqa: PLR0913 - a correction is a mass, and why
    store: Store,
    mass: int,
    weighed: Weighed,
    *,
    operator: str,
    reason: str,
    utc_ns: int,
    anyway: str | None = None,
) -> MassTaken:
    """Keep a mass in another's place.

    Raises:
        CommandRefused: that one does not stand any more, or the new one may not be kept there.
        InputError: there is no such mass.
    """
    old = store.mass(mass)
    return _keep(
        store,
        old.place,
        weighed,
        sample=old.sample,
        operator=operator,
        utc_ns=utc_ns,
        corrects=old.record,
        reason=reason,
        anyway=anyway,
    )


def _keep(  # noqa: PLR0913 - a mass with all that makes it evidence
    store: Store,
    place: Place,
    weighed: Weighed,
    *,
    sample: int | None,
    operator: str,
    utc_ns: int,
    corrects: int | None = None,
    reason: str | None = None,
    anyway: str | None = None,
) -> MassTaken:
    is_charge = (place.test, place.item, place.load) == (CRUSH, "charge", Load.NET)
    if is_charge and sample is not None and anyway is None:
        check_charge(store.sample_record(sample), place.specimen or 0, weighed.mass_g)
    return store.take_mass(
        MassTaken.at(
            place,
            sample=sample,
            operator=operator,
            utc_ns=utc_ns,
            mass_g=weighed.mass_g,
            shown_g=weighed.shown_g,
            certificate=weighed.certificate,
            line=weighed.line,
            t_ns=weighed.t_ns,
            corrects=corrects,
            reason=reason,
            anyway=anyway,
        )
    )


def _sample_of(store: Store, place: Place, which: int | str | None) -> int | None:
    """The sample whose chain a mass belongs in."""
    given = None if which is None else sample_number(store, which)
    if place.specimen is not None:
        own = store.specimen(place.specimen).sample
        if given not in (None, own):
            raise CommandRefused(f"specimen {place.specimen} is not one of that sample")
        return own
    if place.test == CYLINDER:
        return None
    if given is None:
        raise InputError(f"{place} is weighed for a sample: expected its number")
    return given
