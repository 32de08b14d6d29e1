"""Wear of crush cells, sieves and instruments: when one is due for a check or for replacement.

`EQUIPMENT` is the only list of what wears. The limits are ours: no edition of the standard known
here gives any.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from ramphold import units
from ramphold.errors import InputError
from ramphold.method.limits import over


class Equipment(StrEnum):
    """What wears and is inspected from time to time."""

    CELL = "cell"
    SIEVE = "sieve"
    INSTRUMENT = "instrument"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """How far something is worn.

    Attributes:
        used_pct: how much of its nearest limit is used up.
        due: each limit that is passed; empty while there is none.
    """

    used_pct: float
    due: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentKind:
    """How a kind of equipment wears.

    Attributes:
        measure, unit: what is measured on it, and in which unit records hold it.
        use: what its uses are called.
        renewed_by_check: whether uses and days count from its last check, not from new.
        most_uses, most_days: limits; None for no limit. Without any, only a day that was set for
            the next inspection makes it due.
        most_stress_pct: how far its measure may put the stress off, in %; None where the measure
            is no limit.
    """

    measure: str
    unit: str
    use: str
    renewed_by_check: bool
    most_uses: int | None = None
    most_days: int | None = None
    most_stress_pct: float | None = None

    def in_unit(self, length_in: float | None) -> float | None:
        """A length in inches, in the unit of the records."""
        if length_in is None or self.unit == "in":
            return length_in
        return length_in * units.MM_PER_IN

    def wear(
        self,
        uses: int,
        days: int = 0,
        *,
        measured: float | None = None,
        nominal: float | None = None,
        overdue_since: str | None = None,
    ) -> Wear | None:
        """Wear by uses, days and a measure: as measured and nominal, in the unit of the records.

        `overdue_since` is the last day before an inspection that was due, where that day is past.

        A bore wider by a share lowers the stress of a force by about twice that share.

        Returns:
            None for a kind that is limited by its measure and was never measured.

        Raises:
            InputError: a measure is not above zero, or a count is below zero.
        """
        _check_count(uses, self.use)
        _check_count(days, "days")
        limited = self.most_stress_pct is not None
        if limited and (measured is None or nominal is None):
            return None
        counts = list(self._counts(uses, days, measured, nominal))
        return Wear(
            used_pct=max((100 * used / limit for used, limit, _ in counts), default=0.0),
            due=(
                *(
                    f"{words}: expected {limit:g} or less"
                    for used, limit, words in counts
                    if over(used, limit)
                ),
                *((f"its inspection was due on {overdue_since}",) if overdue_since else ()),
            ),
        )

    def _counts(
        self, uses: int, days: int, measured: float | None, nominal: float | None
    ) -> Iterator[tuple[float, float, str]]:
        since = " since the last check" if self.renewed_by_check else ""
        if self.most_stress_pct is not None and measured is not None and nominal is not None:
            off_pct = _stress_off_pct(measured, nominal)
            words = f"the {self.measure} puts the stress {off_pct:.2f} % off"
            yield off_pct, self.most_stress_pct, words
        if self.most_uses is not None:
            yield uses, self.most_uses, f"{uses} {self.use}{since}"
        if self.most_days is not None:
            yield days, self.most_days, f"{days} days{since}"


EQUIPMENT = {
    Equipment.CELL: EquipmentKind(
        measure="bore",
        unit="in",
        use="crushes",
        renewed_by_check=False,
        most_uses=1000,
        most_stress_pct=0.5,
    ),
    Equipment.SIEVE: EquipmentKind(
        measure="mean opening",
        unit="mm",
        use="sievings",
        renewed_by_check=True,
        most_uses=300,
        most_days=180,
    ),
    Equipment.INSTRUMENT: EquipmentKind(measure="", unit="", use="samples", renewed_by_check=True),
}


def _stress_off_pct(bore_in: float, nominal_in: float) -> float:
    if not (math.isfinite(bore_in) and math.isfinite(nominal_in)) or min(bore_in, nominal_in) <= 0:
        raise InputError(f"a bore of {bore_in:g} in, new {nominal_in:g}: expected both above zero")
    return 100 * abs((nominal_in / bore_in) ** 2 - 1)


def _check_count(count: int, what: str) -> None:
    if count < 0:
        raise InputError(f"{count} {what}: expected 0 or more")
