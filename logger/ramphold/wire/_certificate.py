"""A calibration certificate and its TOML file; `hardware/calibration` describes its keys."""

import datetime as dt
import json
import math
import re
from typing import Literal

import msgspec
from msgspec import Struct

from ramphold.errors import ConfigError, InputError
from ramphold.method.force_curve import CalibrationCurve, behind
from ramphold.toml_file import decode_toml
from ramphold.units import FORCE_UNITS, MASS

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")


class CertificatePoint(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A reading less the unloaded one, at a force by the reference."""

    run: int
    force: float
    reading: float
    falling: bool = False


class CertificateResult(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"force_class": "class"}
):
    """The errors at one force by ISO 7500-1, and the expanded uncertainty there.

    `force_class` is empty if the force reaches no class.
    """

    force: float
    error_pct: float
    repeatability_pct: float
    resolution_pct: float
    expanded_uncertainty: float
    force_class: str


class CertificateFacts(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The part of a certificate that is known before the calibration."""

    id: str
    instrument: str
    serial: str
    by: str
    reference: str
    date: dt.date
    due: dt.date
    unit: str
    reading_unit: str


class Certificate(CertificateFacts, frozen=True, kw_only=True):
    """One calibration of one instrument.

    Raises:
        InputError: a value is impossible.
    """

    model: Literal["linear", "quadratic"]
    coefficients: tuple[float, ...]
    residual_sd: float
    coverage_factor: float
    expanded_uncertainty: float
    zero: float = 0.0
    zero_return: float = 0.0
    resolution: float = 0.0
    results: tuple[CertificateResult, ...] = ()
    points: tuple[CertificatePoint, ...]

    def __post_init__(self) -> None:
        if _ID.fullmatch(self.id) is None:
            raise InputError(f"id is {self.id!r}: expected letters, digits, dots and dashes")
        if self.unit not in FORCE_UNITS and self.unit not in MASS.sizes:
            known = ", ".join([*FORCE_UNITS, *MASS.sizes])
            raise InputError(f"unit is {self.unit!r}: expected one of {known}")
        if self.date > self.due:
            raise InputError(f"due is {self.due}, before date: expected a later day")
        held = 3 if self.model == "quadratic" else 2
        if len(self.coefficients) != held:
            raise InputError(f"{len(self.coefficients)} coefficients: expected {held}")
        numbers = (self.residual_sd, self.coverage_factor, self.expanded_uncertainty, self.zero)
        if not all(map(math.isfinite, (*numbers, *self.coefficients))):
            raise InputError("a number is not finite: expected finite ones")
        if len({point.force for point in self.points}) < 2:  # noqa: PLR2004  (a range has two ends)
            raise InputError("points hold fewer than two forces: expected the readings taken")
        if self.of_force:
            self.curve()

    @property
    def of_force(self) -> bool:
        """Whether it calibrates a force, not a mass."""
        return self.unit in FORCE_UNITS

    @property
    def in_counts(self) -> bool:
        """Whether its readings are a converter's counts."""
        return self.reading_unit == "count"

    def days_left(self, today: dt.date) -> int:
        """Whole days until it is due; negative after that."""
        return (self.due - today).days

    def days_early(self, today: dt.date) -> int:
        """Whole days that a day of UTC lies before its date; 0 if it does not.

        One day does not count: its date is the laboratory's own, which may be a day ahead of UTC.
        """
        early = (self.date - today).days
        return early if early > 1 else 0

    def curve(self) -> CalibrationCurve:
        """The curve, over forces in lbf."""
        lbf = FORCE_UNITS[self.unit]
        c0, c1, c2 = (*self.coefficients, 0.0)[:3]
        forces_lbf = [point.force * lbf for point in self.points]
        return CalibrationCurve(
            c0=c0,
            c1=c1 / lbf,
            c2=c2 / lbf**2,
            low_lbf=min(forces_lbf),
            high_lbf=max(forces_lbf),
        )

    def mass_g(self, shown_g: float) -> float:
        """Correct the reading of a balance; both in g, the mass to the microgram.

        Raises:
            InputError: the curve does not reach that reading.
        """
        c0, c1, c2 = (*self.coefficients, 0.0)[:3]
        shown = shown_g / MASS.sizes[self.reading_unit]
        return round(behind(shown, c0, c1, c2) * MASS.sizes[self.unit], 6)

    def text(self) -> str:
        """Its TOML file."""
        keys = [name for name in self.__struct_fields__ if name not in ("results", "points")]
        lines = [f"{name} = {_value(getattr(self, name))}" for name in keys]
        for name, rows in (("results", self.results), ("points", self.points)):
            held = [f"    {_row(row)}," for row in rows]
            lines += ["", f"{name} = [", *held, "]"]
        return "\n".join(lines) + "\n"


def read_certificate(text: str, place: str) -> Certificate:
    """Read a certificate's file.

    Args:
        text: its content.
        place: its name in an error.

    Raises:
        InputError: it is no TOML, or a key is missing, unknown or wrong.
    """
    try:
        return decode_toml(text.encode("utf-8", "surrogatepass"), place, Certificate)
    except ConfigError as error:
        raise InputError(f"{error}; expected a calibration certificate") from None


def _value(value: object) -> str:
    match value:
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case dt.date():
            return value.isoformat()
        case tuple():
            return f"[{', '.join(map(_value, value))}]"
        case _:
            return repr(value)


def _row(row: CertificatePoint | CertificateResult) -> str:
    held = msgspec.to_builtins(row)
    if not held.get("falling", True):
        del held["falling"]
    parts = (f"{key} = {'true' if value is True else _value(value)}" for key, value in held.items())
    return f"{{ {', '.join(parts)} }}"
