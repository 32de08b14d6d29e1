"""Numbers of `bench.toml`: what each may be, what it usually is, and why."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.method import cell

if TYPE_CHECKING:
    from ramphold.daemon.config import BenchConfig

Pair = tuple[float, float]

_DIGITS, _MILLION = 6, 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberRule:
    """What a number may be.

    Attributes:
        key: section and key, as in the file.
        of: the number in a configuration; None where it has none.
        unit: of the number and its limits.
        possible: limits; a number outside is refused.
        usual: limits; a number outside needs a reason.
        why: where the limits come from.
    """

    key: str
    of: Callable[["BenchConfig"], float | None]
    unit: str
    possible: Pair
    usual: Pair
    why: str

    def doubt(self, config: "BenchConfig") -> DoubtedValue | None:
        """What is wrong with the number; None if it is usual or missing."""
        number = self.of(config)
        if number is None or self.usual[0] <= number <= self.usual[1]:
            return None
        possible = self.possible[0] <= number <= self.possible[1]
        least, greatest = self.usual if possible else self.possible
        unit = f" {self.unit}" if self.unit else ""
        look = "" if possible else "; look at number and unit"
        return DoubtedValue(
            key=self.key,
            value=f"{number:.{_DIGITS if abs(number) < _MILLION else 9}g}{unit}",
            told=f"expected {least:.9g} to {greatest:.9g}{unit}: {self.why}{look}",
            reasoned=possible,
        )


_FORCES_LBF: tuple[Pair, Pair] = ((500, 1_000_000), (10_000, 250_000))
_FORCE_WHY = "2 in at 15 000 psi takes 47 124 lbf"
_OURS = "outside it a run is not followed as the README says (our own figures)"
_JUDGED = "a wider limit passes runs that fail elsewhere (our figures)"


def _transducer(name: str) -> Callable[["BenchConfig"], float | None]:
    def number(config: "BenchConfig") -> float | None:
        return getattr(getattr(config.load, "transducer", None), name, None)

    return number


def _rules() -> Iterator[NumberRule]:
    yield NumberRule(
        key="[cell] bore",
        of=lambda config: config.cell.bore,
        unit="in",
        possible=cell.POSSIBLE_BORES_IN,
        usual=cell.USUAL_BORES_IN,
        why="the usual cell has 2 in (50.8 mm) (ISO 13503-2:2006, 11.3, from memory)",
    )
    yield NumberRule(
        key="[cell] rating",
        of=lambda config: config.cell.rating,
        unit="psi",
        possible=(1000, 50_000),
        usual=(5000, 25_000),
        why="sands and ceramics are crushed at 2000 to 15 000 psi (common practice, no source)",
    )
    yield from _force_rules()
    yield from _transducer_rules()
    yield NumberRule(
        key="[worksheet] charge_tolerance_g",
        of=lambda config: config.worksheet.charge_tolerance_g,
        unit="g",
        possible=(0.001, 2.0),
        usual=(0.001, 0.2),
        why="the standard weighs to 0.1 g, laboratories to 0.001 g (from memory)",
    )
    yield from _settings("rules", _RULES, _OURS)
    yield from _settings("limits", _LIMITS, _JUDGED)


def _force_rules() -> Iterator[NumberRule]:
    yield NumberRule(
        key="[press] rating",
        of=lambda config: config.press.rating,
        unit="lbf",
        possible=_FORCES_LBF[0],
        usual=_FORCES_LBF[1],
        why=_FORCE_WHY,
    )
    yield NumberRule(
        key="[load] capacity",
        of=lambda config: config.load.capacity,
        unit="lbf",
        possible=_FORCES_LBF[0],
        usual=_FORCES_LBF[1],
        why=_FORCE_WHY,
    )
    yield NumberRule(
        key="[load] readings_per_s",
        of=lambda config: config.load.readings_per_s,
        unit="/s",
        possible=(0.5, 1000),
        usual=(1, 200),
        why="indicators send 1 to 100, converters 10 or 80 (common practice, no source)",
    )


def _transducer_rules() -> Iterator[NumberRule]:
    yield NumberRule(
        key="[load.transducer] range",
        of=_transducer("range"),
        unit="psi",
        possible=(100, 60_000),
        usual=(1000, 15_000),
        why="hand pumps reach 10 000 psi (common practice, no source)",
    )
    yield NumberRule(
        key="[load.transducer] ram_area",
        of=_transducer("ram_area"),
        unit="in2",
        possible=(0.2, 200),
        usual=(1, 30),
        why="a 25-ton ram has about 5 in2 (common practice, no source)",
    )
    yield NumberRule(
        key="[load.transducer] shunt_ohm",
        of=_transducer("shunt_ohm"),
        unit="ohm",
        possible=(1, 1000),
        usual=(20, 190),
        why="21 mA over it must stay under the converter's 4.096 V",
    )


def _settings(section: str, ranges: dict[str, tuple[Pair, Pair]], why: str) -> Iterator[NumberRule]:
    def of(name: str) -> Callable[["BenchConfig"], float | None]:
        return lambda config: getattr(getattr(config, section), name)

    for name, (possible, usual) in ranges.items():
        unit = {"pct": "%", "psi": "psi", "s": "s"}[name.rpartition("_")[2]]
        yield NumberRule(
            key=f"[{section}] {name}",
            of=of(name),
            unit=unit,
            possible=possible,
            usual=usual,
            why=why,
        )


_RULES: dict[str, tuple[Pair, Pair]] = {
    "contact_psi": ((1, 500), (5, 100)),
    "seating_psi": ((10, 1000), (50, 500)),
    "band_pct": ((0.1, 20), (0.5, 5)),
    "hold_start_pct": ((80, 100), (95, 100)),
    "settle_s": ((0.05, 10), (0.1, 2)),
    "release_pct": ((5, 95), (20, 80)),
    "ramp_drop_pct": ((1, 50), (5, 30)),
    "stale_s": ((0.1, 30), (0.2, 5)),
}
_LIMITS: dict[str, tuple[Pair, Pair]] = {
    "rate_pct": ((0.1, 100), (1, 20)),
    "rms_pct": ((0.1, 100), (0.5, 10)),
    "overshoot_pct": ((0.1, 100), (0.5, 5)),
    "hold_short_s": ((0.1, 120), (0.1, 5)),
    "hold_long_s": ((0.1, 600), (1, 60)),
    "hold_mean_pct": ((0.1, 50), (0.2, 5)),
    "out_of_band_pct": ((0.1, 100), (1, 25)),
    "gap_s": ((0.1, 120), (0.2, 5)),
    "unanswered_s": ((0.1, 600), (1, 30)),
}

NUMBER_RULES: tuple[NumberRule, ...] = tuple(_rules())
