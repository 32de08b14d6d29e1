"""Masses: where one belongs, and whether it may be kept there.

Each function serves one act, in the store's thread, with what the balance showed or a person
entered, at a time in ns UTC.
"""

from msgspec import structs

from ramphold.control.mass_methods import CORRECT_MASS, WEIGH, CorrectMassParams, WeighParams
from ramphold.daemon._balance_now import Weighed
from ramphold.daemon._ledger import chain_of, keep
from ramphold.errors import InputError
from ramphold.sample import CYLINDER, MassTaken, WeighingPlace, check_place
from ramphold.store import Store


def weigh(store: Store, params: WeighParams, weighed: Weighed, utc_ns: int) -> MassTaken:
    """Keep a mass at a place of a sample, of a specimen or of the bench.

    Raises:
        CommandRefused: it may not be kept there, or it is a charge off its target and nobody gave
            a reason to keep it anyway.
        InputError: there is no such place, sample or specimen.
    """
    place = WeighingPlace.of(params)
    check_place(place)
    sample = None if place.test == CYLINDER else chain_of(store, params)
    if sample is None and place.specimen is None and place.test != CYLINDER:
        raise InputError(f"{place} is weighed for a sample: expected its number")
    return keep(store, WEIGH, params, utc_ns, sample=sample, **structs.asdict(weighed))


def correct_mass(
    store: Store, params: CorrectMassParams, weighed: Weighed, utc_ns: int
) -> MassTaken:
    """Replace a mass.

    Raises:
        CommandRefused: it was replaced already, or the new one may not be kept there.
        InputError: there is no such mass.
    """
    old = store.masses.one(params.corrects)
    where = structs.asdict(old.place) | {"sample": old.sample}
    return keep(store, CORRECT_MASS, params, utc_ns, **where, **structs.asdict(weighed))
