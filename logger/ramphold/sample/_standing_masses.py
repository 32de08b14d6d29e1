"""The standing masses - those that no other corrects - and their net masses."""

from collections.abc import Iterable, Mapping

from ramphold.errors import CommandRefused
from ramphold.method.fines import PAN_REPEATS_G
from ramphold.method.limits import over, under
from ramphold.sample._sample_records import MassTaken
from ramphold.sample._weighing_places import CRUSH, Load, WeighingPlace

Masses = Mapping[WeighingPlace, MassTaken]


def standing(masses: Iterable[MassTaken]) -> dict[WeighingPlace, MassTaken]:
    """The standing mass of each place: the one that no other corrects."""
    held = tuple(masses)
    corrected = {mass.corrects for mass in held}
    return {mass.place: mass for mass in held if mass.record not in corrected}


def net_g(masses: Masses, test: str, item: str, specimen: int | None = None) -> float | None:
    """Net mass in g, weighed directly or as gross less tare; None until it is known."""

    def at(load: Load) -> float | None:
        found = masses.get(WeighingPlace(test=test, item=item, load=load, specimen=specimen))
        return None if found is None else found.mass_g

    net, gross, tare = at(Load.NET), at(Load.GROSS), at(Load.TARE)
    if net is not None:
        return net
    return None if gross is None or tare is None else gross - tare


def check_weighing(
    masses: Masses, place: WeighingPlace, mass_g: float, corrects: int | None
) -> None:
    """Check that a mass may be kept at a place, given the other standing masses.

    Args:
        masses: the standing masses.
        place: where it is to be kept.
        mass_g: the mass in g.
        corrects: number of the record that it replaces; None for the first at its place.

    Raises:
        CommandRefused: there is a standing mass already, or `corrects` is not the standing one; net
            beside tare and gross; a gross lighter than its tare, the pan of a crush by more than
            `PAN_REPEATS_G`; more in a specimen's pan than its charge.
    """
    there = masses.get(place)
    if there is not None and corrects is None:
        raise CommandRefused(
            f"{place} is there already, {there.mass_g:g} g: correct mass {there.record} "
            "with a reason"
        )
    if corrects is not None and (there is None or there.record != corrects):
        stands = "none stands" if there is None else f"mass {there.record} stands"
        raise CommandRefused(f"mass {corrects} can't be corrected: of {place}, {stands}")
    other = {load: masses.get(place.loaded(load)) for load in Load if load is not place.load}
    if any(found is not None and Load.NET in (place.load, load) for load, found in other.items()):
        raise CommandRefused(f"{place}: it is weighed net or by tare and gross, not both")
    tare, gross = other.get(Load.TARE), other.get(Load.GROSS)
    slack_g = PAN_REPEATS_G if (place.test, place.item) == (CRUSH, "pan") else 0.0
    if place.load is Load.GROSS and tare is not None and under(mass_g + slack_g, tare.mass_g):
        raise CommandRefused(f"{place}: {mass_g:g} g is lighter than its tare, {tare.mass_g:g} g")
    if place.load is Load.TARE and gross is not None and over(mass_g - slack_g, gross.mass_g):
        raise CommandRefused(f"{place}: {mass_g:g} g is heavier than its gross, {gross.mass_g:g} g")
    if (place.test, place.item, place.load) == (CRUSH, "pan", Load.GROSS) and tare is not None:
        charge = masses.get(WeighingPlace(test=CRUSH, item="charge", specimen=place.specimen))
        if charge is not None and mass_g - tare.mass_g > charge.mass_g:
            raise CommandRefused(
                f"{place}: {mass_g - tare.mass_g:.3f} g in the pan is more than the charge, "
                f"{charge.mass_g:.3f} g: check whose pan it is"
            )
