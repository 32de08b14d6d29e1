"""The readings of a run as columns.

Quality, exponent and unit of a reading rarely change: together they are its form, and one column
has the index of the form.
"""

import math
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, Self, TypeAlias

from ramphold.core._readings import Quality, Reading
from ramphold.errors import InputError

Integers: TypeAlias = "array[int]"
Floats: TypeAlias = "array[float]"


def integers(numbers: Iterable[int] = ()) -> Integers:
    """A column of whole numbers.

    Raises:
        OverflowError: one needs more than 64 bits.
    """
    return array("q", numbers)


def floats(numbers: Iterable[float] = ()) -> Floats:
    """A column of floats."""
    return array("d", numbers)


class ReadingForm(NamedTuple):
    """Quality, power of ten and unit of a reading's raw digits."""

    quality: Quality
    exponent: int
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """The readings of a run in order, with one entry a reading in each column.

    Attributes:
        t_ns: monotonic time in ns.
        raw: digits or count.
        force_lbf: force in lbf; NaN where a reading carries no number.
        form: index into `forms`.
        forms: every form that occurs, once.
        lines: the bytes of each line that could not be decoded, by the index of the reading.
    """

    t_ns: Integers = field(default_factory=integers)
    raw: Integers = field(default_factory=integers)
    force_lbf: Floats = field(default_factory=floats)
    form: Integers = field(default_factory=integers)
    forms: tuple[ReadingForm, ...] = ()
    lines: dict[int, bytes] = field(default_factory=dict)

    @classmethod
    def of(cls, readings: Iterable[Reading]) -> Self:
        """The trace of these readings.

        Raises:
            InputError: a time or raw digits need more than 64 bits.
        """
        rows = list(readings)
        codes: dict[tuple[Quality, int, str], int] = {}
        form = [codes.setdefault((one.quality, one.exponent, one.unit), len(codes)) for one in rows]
        try:
            t_ns = integers([one.t_ns for one in rows])
            raw = integers([one.raw for one in rows])
        except OverflowError:
            raise InputError("readings beyond 64 bits: expected smaller times and digits") from None
        return cls(
            t_ns=t_ns,
            raw=raw,
            force_lbf=floats([one.force_lbf for one in rows]),
            form=integers(form),
            forms=tuple(ReadingForm(*one) for one in codes),
            lines={index: one.line for index, one in enumerate(rows) if one.line},
        )

    def __len__(self) -> int:
        return len(self.t_ns)

    def __eq__(self, other: object) -> bool:
        """Whether all readings are equal; two forces that are NaN are equal."""
        if not isinstance(other, Trace):
            return NotImplemented
        return (
            (self.t_ns, self.raw, self.form, self.forms, self.lines)
            == (other.t_ns, other.raw, other.form, other.forms, other.lines)
        ) and all(
            one == two or (math.isnan(one) and math.isnan(two))
            for one, two in zip(self.force_lbf, other.force_lbf, strict=True)
        )

    __hash__ = None  # type: ignore[assignment] # its columns can be changed

    def readings(self) -> list[Reading]:
        """The readings, one by one."""
        columns = zip(
            self.t_ns,
            self.raw,
            self.force_lbf,
            [self.forms[one] for one in self.form],
            strict=True,
        )
        return [
            Reading(
                t_ns=t_ns,
                force_lbf=force_lbf,
                quality=quality,
                raw=raw,
                exponent=exponent,
                unit=unit,
                line=self.lines.get(index, b""),
            )
            for index, (t_ns, raw, force_lbf, (quality, exponent, unit)) in enumerate(columns)
        ]

    def followed_by(self, readings: Sequence[Reading]) -> Self:
        """This trace with more readings after it."""
        return self.of([*self.readings(), *readings]) if readings else self

    def since(self, zero_ns: int) -> Self:
        """This trace with its times counted from `zero_ns`.

        Raises:
            InputError: a time would need more than 64 bits.
        """
        try:
            return replace(self, t_ns=integers([one - zero_ns for one in self.t_ns]))
        except OverflowError:
            raise InputError(f"times of a trace are centuries from {zero_ns} ns") from None

    @property
    def t_s(self) -> Floats:
        """Times in s."""
        return floats([one / 1e9 for one in self.t_ns])

    def stress_psi(self, area_in2: float) -> Floats:
        """Stress in psi over an area; NaN where a reading carries no number."""
        return floats([one / area_in2 for one in self.force_lbf])
