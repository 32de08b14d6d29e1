"""A press tried out: what is done, and what can be found of press, bed, hand and readings."""

from collections.abc import Iterator
from enum import StrEnum

from msgspec import Struct

from ramphold.core._cues import PacingStart


class Medium(StrEnum):
    """What is under the piston."""

    DISC = "steel disc"
    SAND = "sand bed"


class StepKind(StrEnum):
    """What the hand does in a step."""

    STROKES = "strokes"
    PULL = "pull"
    REST = "rest"


class TrialStep(Struct, frozen=True, kw_only=True):
    """One thing to do: strokes of a size, a slow pull, or nothing for a time in s."""

    medium: Medium
    kind: StepKind
    size: float = 1.0
    count: int = 1
    seconds: float = 0.0


def _steps(medium: Medium) -> Iterator[TrialStep]:
    yield TrialStep(medium=medium, kind=StepKind.STROKES, size=1.0, count=4)
    for size, count in ((0.5, 4), (0.25, 4), (0.125, 6), (0.0625, 6)):
        yield TrialStep(medium=medium, kind=StepKind.STROKES, size=size, count=count)
    yield TrialStep(medium=medium, kind=StepKind.PULL, seconds=20.0)
    yield TrialStep(medium=medium, kind=StepKind.REST, seconds=12.0)


#: The whole trial, in order.
TRIAL = (*_steps(Medium.DISC), *_steps(Medium.SAND))


class StrokeSeen(Struct, frozen=True, kw_only=True):
    """A stroke that was made: how far it was meant to go, from what load, and what it gained."""

    size: float
    before_psi: float
    gain_psi: float


class SizeSeen(Struct, frozen=True, kw_only=True):
    """How repeatable strokes of one size are.

    Attributes:
        size: as it was meant, in full strokes.
        found, wanted: strokes seen, and strokes asked for.
        share: what they gained of a full stroke at the same load, mean; None where no full stroke
            was seen, or none of this size.
        scatter_pct: standard deviation of that, in % of it; None of fewer than two.
    """

    size: float
    found: int
    wanted: int
    share: float | None
    scatter_pct: float | None


class Relaxation(Struct, frozen=True, kw_only=True):
    """What of a load is lost after a stroke; in % of it, None where the rest was shorter."""

    load_psi: float
    lost_pct_05s: float | None
    lost_pct_1s: float | None
    lost_pct_3s: float | None
    lost_pct_10s: float | None


class PullSeen(Struct, frozen=True, kw_only=True):
    """How even a slow pull was.

    Attributes:
        lasted_s: how long the longest pull without a lever return was, in whole seconds.
        rate_psi_s: how fast the load rose in it, mean.
        uneven_pct: standard deviation of the rate over whole seconds, in % of the mean.
        off_curve_psi: how far the load lay off a smooth curve through it, rms.
    """

    lasted_s: float
    rate_psi_s: float
    uneven_pct: float
    off_curve_psi: float


class MediumTrial(Struct, frozen=True, kw_only=True):
    """What was seen on one medium.

    `sag_per_s` is the share of the load lost per second between strokes, as the pacing counts it.
    """

    medium: Medium
    strokes: tuple[StrokeSeen, ...]
    sizes: tuple[SizeSeen, ...]
    relaxations: tuple[Relaxation, ...]
    sag_per_s: float | None
    pull: PullSeen | None


class PressTrial(Struct, frozen=True, kw_only=True):
    """What a trial found.

    Attributes:
        media: what was seen on each.
        readings, rate_per_s: how many there were, and how often.
        noise_psi: standard deviation of the noise while the load rests.
        spikes_per_1000: readings in a thousand at which a spike begins.
        double_spikes: how many of all spikes lasted two readings.
        fastest_psi_s: fastest rise in a stroke; None where there was none.
        late_psi: how far the slow pull on sand goes before a reader at 10/s sees it.
        ten_would_do: whether that is little enough for 10 readings/s to do.
        start: what the pacing starts from on this press.
        findings: what weakens the trial.
    """

    media: tuple[MediumTrial, ...]
    readings: int
    rate_per_s: float
    noise_psi: float | None
    spikes_per_1000: float
    double_spikes: int
    fastest_psi_s: float | None
    late_psi: float | None
    ten_would_do: bool | None
    start: PacingStart
    findings: tuple[str, ...]
