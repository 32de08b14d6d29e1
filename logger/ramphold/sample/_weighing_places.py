"""What is on the balance: which test it belongs to, which part of it, and how it is loaded."""

from enum import StrEnum
from typing import Self

import msgspec
from msgspec import Struct, structs

from ramphold.errors import InputError
from ramphold.method.gravimetric import TESTS
from ramphold.method.sieves import OPENINGS_MM

__all__ = [
    "CRUSH",
    "CYLINDER",
    "DENSITY",
    "PREPARATION",
    "SIEVING",
    "Load",
    "WeighingPlace",
    "check_place",
]

PREPARATION, SIEVING, DENSITY = "preparation", "sieve analysis", "bulk density"
CRUSH, CYLINDER = "crush", "cylinder"

_ITEMS = {
    PREPARATION: ("received", "split", "washed", "dried"),
    SIEVING: ("charge", *map(str, OPENINGS_MM), "pan"),
    DENSITY: ("fill",),
    CRUSH: ("charge", "pan", "retained"),
    **dict.fromkeys(TESTS, ("before", "after")),
}


class Load(StrEnum):
    """How the balance is loaded: the vessel alone, the vessel and what it holds, or that alone."""

    TARE = "tare"
    GROSS = "gross"
    NET = "net"


class WeighingPlace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A mass to be weighed.

    Attributes:
        test: what it belongs to: `preparation`, `sieve analysis`, `bulk density`, `crush`,
            `cylinder` or a test of `method.gravimetric`.
        item: which part of that, such as a sieve's number or `pan`; of `cylinder` its name.
        load: the vessel alone, full, or the proppant alone.
        specimen: number of the specimen; with `crush` only.
    """

    test: str
    item: str
    load: Load = Load.NET
    specimen: int | None = None

    @classmethod
    def of(cls, source: object) -> Self:
        """The place that a mass names, or the parameters of a weighing."""
        return msgspec.convert(source, cls, from_attributes=True)

    def loaded(self, load: Load) -> "WeighingPlace":
        """The same part, with the balance loaded otherwise."""
        return structs.replace(self, load=load)

    def __str__(self) -> str:
        item = f"No. {self.item}" if self.item.isdigit() else self.item
        load = "" if self.load is Load.NET else f", {self.load}"
        whose = "" if self.specimen is None else f" of specimen {self.specimen}"
        return f"{self.test}: {item}{load}{whose}"


def check_place(place: WeighingPlace) -> None:
    """See that such a mass is weighed at all.

    Raises:
        InputError: there is no such test, or no such part of it.
    """
    if (place.test == CRUSH) != (place.specimen is not None):
        raise InputError(f"{place}: expected a specimen's number with {CRUSH}, and only there")
    if place.test == CYLINDER and place.item.strip():
        return
    items = _ITEMS.get(place.test)
    if items is None:
        known = ", ".join((*_ITEMS, CYLINDER))
        raise InputError(f"nothing is weighed for {place.test!r}: expected one of {known}")
    if place.item not in items:
        raise InputError(
            f"{place.test} has no {place.item!r} to weigh: expected one of {', '.join(items)}"
        )
