"""What lies on the balance, in words and as the biggest word. Pure."""

from ramphold.method.gravimetric import TESTS
from ramphold.sample import CRUSH, CYLINDER, DENSITY, SIEVING, Load, WeighingPlace

__all__ = ["big_words", "words"]

_VESSELS = {Load.TARE: ", empty", Load.GROSS: ", full", Load.NET: ""}
_BIG_VESSELS = {Load.TARE: " EMPTY", Load.GROSS: " FULL", Load.NET: ""}
_PREPARED = {
    "received": "the sample as received",
    "split": "the split portion",
    "washed": "the washed portion",
    "dried": "the dried portion",
}


def words(place: WeighingPlace) -> str:
    """What lies on the balance, as it stands in a sentence."""
    vessel = _VESSELS[place.load]
    if place.test == SIEVING:
        return _of_sieving(place)
    if place.test == DENSITY:
        return f"the density cylinder{vessel}" if vessel else "what the density cylinder holds"
    if place.test == CYLINDER:
        return f"cylinder {place.item}{vessel}"
    if place.test == CRUSH:
        return _of_specimen(place)
    if place.test in TESTS:
        what = TESTS[place.test].before if place.item == "before" else TESTS[place.test].after
        return f"{what}{_in_vessel(place.load)}"
    return f"{_PREPARED[place.item]}{_in_vessel(place.load)}"


def big_words(place: WeighingPlace) -> str:
    """The same in as few letters as can be read from two metres."""
    vessel = _BIG_VESSELS[place.load]
    if place.item.isdigit():
        return f"NO.{place.item}{vessel}"
    if place.test in (DENSITY, CYLINDER):
        return f"CYL.{vessel}"
    return f"{place.item.upper()}{vessel}"


def _of_sieving(place: WeighingPlace) -> str:
    name = "the pan" if place.item == "pan" else f"sieve No. {place.item}"
    if place.item == "charge":
        return f"the charge of the stack{_in_vessel(place.load)}"
    return f"{name}{_VESSELS[place.load]}" if place.load is not Load.NET else f"what {name} holds"


def _of_specimen(place: WeighingPlace) -> str:
    if place.item == "pan":
        pans = {
            Load.TARE: "the empty pan",
            Load.GROSS: "the pan with fines",
            Load.NET: "the fines",
        }
        return pans[place.load]
    if place.item == "retained":
        return f"what the sieve retained{_in_vessel(place.load)}"
    return f"the charge{_in_vessel(place.load)}"


def _in_vessel(load: Load) -> str:
    parts = {Load.TARE: ": its vessel, empty", Load.GROSS: ", in its vessel", Load.NET: ""}
    return parts[load]
