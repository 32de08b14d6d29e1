"""One specimen and its masses; a mass is corrected by another, never changed."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Mass", "Specimen", "Weighing", "standing_masses"]


class Weighing(StrEnum):
    """What of a specimen is weighed."""

    CHARGE = "charge"
    PAN_EMPTY = "pan empty"
    PAN_FULL = "pan full"


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen:
    """One charge of proppant, to be crushed once.

    Attributes:
        id: its number on this bench.
        label: what the laboratory calls it.
        target_psi: stress it is to be crushed at, in psi.
        bore_in: bore of its cell in inches.
        operator: initials of who recorded it.
        created_utc_ns: when, UTC in ns since 1970.
        sample: number of the sample that it belongs to, if any.
    """

    id: int
    label: str
    target_psi: float
    bore_in: float
    operator: str
    created_utc_ns: int
    sample: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mass:
    """A mass as it was captured or entered.

    Attributes:
        id: its number on this bench.
        specimen: number of the specimen.
        what: what was weighed.
        mass_g: the mass in g.
        line: the bytes that the balance sent; None where a person entered it.
        t_ns: monotonic time in ns.
        utc_ns: UTC in ns since 1970.
        operator: initials of who captured it.
        corrects: number of the mass that this one replaces, if any.
        reason: why it replaces it.
    """

    id: int
    specimen: int
    what: Weighing
    mass_g: float
    line: bytes | None
    t_ns: int
    utc_ns: int
    operator: str
    corrects: int | None = None
    reason: str | None = None


def standing_masses(masses: Iterable[Mass]) -> dict[Weighing, Mass]:
    """The mass of each weighing that no other one corrects."""
    masses = tuple(masses)
    corrected = {mass.corrects for mass in masses}
    return {mass.what: mass for mass in masses if mass.id not in corrected}
