"""What is weighed: the test, the item of the test, and how the balance is loaded."""

from enum import StrEnum
from typing import Self

import msgspec
from msgspec import Struct, structs

from ramphold.errors import InputError
from ramphold.method.gravimetric import TESTS
from ramphold.method.sieves import OPENINGS_MM

PREPARATION, SIEVING, DENSITY = "preparation", "sieve analysis", "bulk density"
CUT = "cut"
CRUSH, CYLINDER = "crush", "cylinder"
#: The fills of the density cylinder: determinations of one bulk density.
FILLS = ("fill", *(f"fill {number}" for number in range(2, 11)))

_ITEMS = {
    PREPARATION: ("received", "split", "washed", "dried"),
    SIEVING: ("charge", *map(str, OPENINGS_MM), "pan"),
    DENSITY: FILLS,
    CUT: ("sieved", "kept", "discarded"),
    CRUSH: ("charge", "pan", "retained"),
    **dict.fromkeys(TESTS, ("before", "after")),
}


class Load(StrEnum):
    """How the balance is loaded: empty vessel, full vessel, or the material alone."""

    TARE = "tare"
    GROSS = "gross"
    NET = "net"


class WeighingPlace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a mass belongs to.

    Attributes:
        test: `preparation`, `sieve analysis`, `bulk density`, `cut`, `crush`, `cylinder` or a test
            of `method.gravimetric`.
        item: the item of the test, such as a sieve's number or `pan`; of `cylinder`, its name.
        load: empty vessel, full vessel, or the proppant alone.
        specimen: number of the specimen; with `crush` only.
    """

    test: str
    item: str
    load: Load = Load.NET
    specimen: int | None = None

    @classmethod
    def of(cls, source: object) -> Self:
        """The place named by a mass, or by the parameters of an act."""
        return msgspec.convert(source, cls, from_attributes=True)

    def loaded(self, load: Load) -> "WeighingPlace":
        """The same item with another load on the balance."""
        return structs.replace(self, load=load)

    def __str__(self) -> str:
        item = f"No. {self.item}" if self.item.isdigit() else self.item
        load = "" if self.load is Load.NET else f", {self.load}"
        whose = "" if self.specimen is None else f" of specimen {self.specimen}"
        return f"{self.test}: {item}{load}{whose}"


def check_place(place: WeighingPlace) -> None:
    """Check that the place exists.

    Raises:
        InputError: there is no such test, or the test has no such item.
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
