"""From which ranges presses and people are drawn, apart for tuning and for judging.

Nothing here knows of the pacing: a person is given a rendered screen and nothing else.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import _plant

from ramphold.sim import HandHabits, OperatorHabits, Press, PressParameters

__all__ = ["CASES", "SETS", "Case", "PlantSet", "draw_habits", "draw_press"]

AnyPress = Press | _plant.SecondPress
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class PlantSet:
    """A press, and the ranges that a person's habits are drawn from, evenly.

    Attributes:
        name: what the table calls it, and `used_for` what it may be used for.
        first_seed: seeds count up from here; no set shares one.
        press: draws a press with a bed in it, its pump so many times the usual volume.
    """

    name: str
    used_for: str
    first_seed: int
    press: Callable[[random.Random, float], AnyPress]
    see_s: Range = (0.25, 0.4)
    answer_s: Range = (0.2, 0.35)
    gain_per_s: Range = (0.4, 2.5)
    feeds_forward: Range = (0.0, 1.0)
    top_up_per_s: Range = (0.02, 0.05)
    slowest_per_s: Range = (0.012, 0.025)
    unevenness: Range = (0.1, 0.25)
    stick: Range = (0.008, 0.016)
    lapses_per_s: Range = (0.01, 0.04)
    heeds_strip: float = 0.3


def _own(rng: random.Random, pump: float) -> Press:
    p = PressParameters(gap_cm3=0.0).draw(rng)
    return Press(replace(p, stroke_cm3=p.stroke_cm3 * pump), rng)


def _second(rng: random.Random, pump: float) -> _plant.SecondPress:
    p = _plant.SecondParameters().draw(rng)
    return _plant.SecondPress(replace(p, stroke_cm3=p.stroke_cm3 * pump), rng)


SETS = {
    "own": PlantSet("own", "tuning", 9_000_000, _own),
    "second": PlantSet(
        "second",
        "judging",
        0,
        _second,
        see_s=(0.25, 0.45),
        lapses_per_s=(0.01, 0.05),
        unevenness=(0.08, 0.3),
        heeds_strip=0.25,
    ),
}


@dataclass(frozen=True, slots=True)
class Case:
    """One row of the table; ranges given here stand in the place of the set's.

    Attributes:
        target_psi, per_s: of the run, and of the readings.
        pump: volume of the pump, as a multiple of the usual.
        strokes: whether the run is paced in strokes.
        commissioned: whether the pacing starts from a trial of this press by this hand.
        false_pairs_lbf: two readings this far off every 4 s, with either sign.
        ignores: share of the words that are missed.
        unaided: another case whose unaided runs are the same; what sets this one apart, nobody
            without cues meets.
        habits: ranges of habits.
    """

    name: str
    target_psi: float = 4000.0
    per_s: int = 10
    pump: float = 1.0
    strokes: bool = False
    commissioned: bool = False
    false_pairs_lbf: float = 0.0
    ignores: float = 0.0
    unaided: str = ""
    habits: tuple[tuple[str, Range], ...] = ()


EAGER = (("top_up_per_s", (0.08, 0.08)),)
SLOW_EYES = (("see_s", (0.6, 0.6)), ("answer_s", (0.45, 0.45)))
CASES = {
    case.name: case
    for case in (
        Case("4000 psi"),
        Case("2000 psi", target_psi=2000.0),
        Case("4000, pump x 2", pump=2.0),
        Case("4000, pump x 2, commissioned", pump=2.0, commissioned=True, unaided="4000, pump x 2"),
        Case("4000, commissioned", commissioned=True, unaided="4000 psi"),
        Case("4000, sticky lever 3 %", habits=(("stick", (0.03, 0.03)),)),
        Case("4000, ignores 15 % of cues", ignores=0.15, unaided="4000 psi"),
        Case("4000, slow eyes", habits=SLOW_EYES, unaided="4000 psi"),
        Case("4000, eager top-ups", habits=EAGER, unaided="4000 psi"),
        Case("4000, strokes", strokes=True, unaided="4000 psi"),
        Case("4000, strokes, pump x 2", strokes=True, pump=2.0, unaided="4000, pump x 2"),
        Case("2000, strokes", target_psi=2000.0, strokes=True, unaided="2000 psi"),
        Case("4000, false pairs", false_pairs_lbf=300.0),
        Case("4000, 5 readings/s", per_s=5),
        Case("2000, 5 readings/s", target_psi=2000.0, per_s=5, unaided="2000 psi"),
        Case("2000, pump x 2", target_psi=2000.0, pump=2.0),
        Case("10 000 psi", target_psi=10_000.0),
        Case("14 000 psi", target_psi=14_000.0),
    )
}


def draw_press(rng: random.Random, plants: PlantSet, case: Case) -> AnyPress:
    """Another press with a fresh bed."""
    return plants.press(rng, case.pump)


def draw_habits(rng: random.Random, plants: PlantSet, case: Case) -> OperatorHabits:
    """Another person."""
    special = dict(case.habits)

    def drawn(name: str) -> float:
        return rng.uniform(*special.get(name, getattr(plants, name)))

    return OperatorHabits(
        see_s=drawn("see_s"),
        answer_s=drawn("answer_s"),
        lapses_per_s=drawn("lapses_per_s"),
        ignores=case.ignores,
        top_up_per_s=drawn("top_up_per_s"),
        gain_per_s=drawn("gain_per_s"),
        feeds_forward=drawn("feeds_forward"),
        heeds_strip=rng.random() < plants.heeds_strip,
        stroke_psi=950.0 * rng.lognormvariate(0.0, 0.1),
        hand=HandHabits(
            unevenness=drawn("unevenness"),
            stick=drawn("stick"),
            slowest_per_s=drawn("slowest_per_s"),
        ),
    )
