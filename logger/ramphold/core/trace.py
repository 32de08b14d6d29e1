"""The readings of a run as columns.

Not imported by the package itself, so that numpy loads only where it is used. Quality, exponent and
unit of a reading rarely change: together they are its form, and one column has the index of the
form.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray

from ramphold.core._readings import Quality, Reading
from ramphold.errors import InputError

Integers: TypeAlias = NDArray[np.int64]
Floats: TypeAlias = NDArray[np.float64]

_INT64 = np.iinfo(np.int64)


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

    t_ns: Integers = field(default_factory=lambda: np.empty(0, np.int64))
    raw: Integers = field(default_factory=lambda: np.empty(0, np.int64))
    force_lbf: Floats = field(default_factory=lambda: np.empty(0, np.float64))
    form: NDArray[np.int32] = field(default_factory=lambda: np.empty(0, np.int32))
    forms: tuple[ReadingForm, ...] = ()
    lines: dict[int, bytes] = field(default_factory=dict)

    @classmethod
    def of(cls, readings: Iterable[Reading]) -> Self:
        """The trace of these readings.

        Raises:
            InputError: a time or raw digits need more than 64 bits.
        """
        rows = list(readings)
        codes: dict[ReadingForm, int] = {}
        forms = (ReadingForm(one.quality, one.exponent, one.unit) for one in rows)
        form = [codes.setdefault(one, len(codes)) for one in forms]
        try:
            t_ns = np.array([one.t_ns for one in rows], np.int64)
            raw = np.array([one.raw for one in rows], np.int64)
        except OverflowError:
            raise InputError("readings beyond 64 bits: expected smaller times and digits") from None
        return cls(
            t_ns=t_ns,
            raw=raw,
            force_lbf=np.array([one.force_lbf for one in rows], np.float64),
            form=np.array(form, np.int32),
            forms=tuple(codes),
            lines={index: one.line for index, one in enumerate(rows) if one.line},
        )

    def __len__(self) -> int:
        return len(self.t_ns)

    def __eq__(self, other: object) -> bool:
        """Whether all readings are equal; two forces that are NaN are equal."""
        if not isinstance(other, Trace):
            return NotImplemented
        return (
            np.array_equal(self.t_ns, other.t_ns)
            and np.array_equal(self.raw, other.raw)
            and np.array_equal(self.force_lbf, other.force_lbf, equal_nan=True)
            and np.array_equal(self.form, other.form)
            and self.forms == other.forms
            and self.lines == other.lines
        )

    __hash__ = None  # type: ignore[assignment] # its columns can be changed

    def readings(self) -> list[Reading]:
        """The readings, one by one."""
        columns = zip(
            self.t_ns.tolist(),
            self.raw.tolist(),
            self.force_lbf.tolist(),
            [self.forms[one] for one in self.form.tolist()],
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
        if len(self):
            first, last = int(self.t_ns.min()) - zero_ns, int(self.t_ns.max()) - zero_ns
            if first < _INT64.min or last > _INT64.max:
                raise InputError(f"times of a trace are centuries from {zero_ns} ns")
        return replace(self, t_ns=self.t_ns - zero_ns)

    @property
    def t_s(self) -> Floats:
        """Times in s."""
        return self.t_ns / 1e9

    def stress_psi(self, area_in2: float) -> Floats:
        """Stress in psi over an area; NaN where a reading carries no number."""
        with np.errstate(over="ignore"):
            return self.force_lbf / area_in2
