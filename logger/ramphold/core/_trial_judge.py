"""Works out a trial of a press from the loads that were read in it.

Strokes are found as the pacing finds them, in the same steadied load, so that what the trial says
is what the pacing will see.
"""

import math
import statistics
from collections.abc import Iterator, Sequence

from ramphold.core._cues import PacingStart
from ramphold.core._filters import SteadyLoad
from ramphold.core._learning import ANOTHER_BED_SD, SAGGED, Learned
from ramphold.core._noise import noise_sd
from ramphold.core._strokes import Rise, Rises
from ramphold.core._trial import (
    Medium,
    MediumTrial,
    PressTrial,
    Relaxation,
    SizeSeen,
    StepKind,
    StrokeSeen,
    TrialStep,
)
from ramphold.core._trial_signal import LEAST_PULL_S, fastest, pull, rate, spikes

Loads = Sequence[tuple[int, float]]

_NS_PER_S = 1_000_000_000
_AFTER_S = (0.5, 1.0, 3.0, 10.0)
_FIRST_STROKE_PSI = 50.0
_LEAST_STROKES = 3
_SCATTERS, _SAGS = (0.2, 4.0), (0.0, 0.02)
# At 10 readings/s the load is seen one period, and one reading of the median, late.
_LATE_AT_10_S = 0.2
# Half the tolerance of the hold's mean at the lowest stress that is usually tested.
_MAY_BE_LATE_PSI = 0.005 * 4000.0
_FAST_PER_S = 60.0


def judge_trial(seen: Sequence[tuple[TrialStep, Loads]]) -> PressTrial:
    """Work out a trial.

    Args:
        seen: each step with the raw loads read in it, as (time in ns, stress in psi).
    """
    media = tuple(
        _medium(medium, [one for one in seen if one[0].medium is medium])
        for medium in dict.fromkeys(step.medium for step, _ in seen)
    )
    loads = [load for _, held in seen for load in held]
    singles, doubles = spikes(loads for _, loads in seen)
    rate_per_s = rate([loads for _, loads in seen])
    resting = [
        noise_sd([psi for _, psi in held]) for step, held in seen if step.kind is StepKind.REST
    ]
    sand = next((one for one in media if one.medium is Medium.SAND), None)
    late_psi = sand.pull.rate_psi_s * _LATE_AT_10_S if sand and sand.pull else None
    return PressTrial(
        media=media,
        readings=len(loads),
        rate_per_s=rate_per_s,
        noise_psi=max((one for one in resting if one is not None), default=None),
        spikes_per_1000=1000 * (singles + doubles) / max(len(loads), 1),
        double_spikes=doubles,
        fastest_psi_s=fastest(loads for step, loads in seen if step.kind is StepKind.STROKES),
        late_psi=late_psi,
        ten_would_do=None if late_psi is None else late_psi <= _MAY_BE_LATE_PSI,
        start=_start(sand),
        findings=tuple(_findings(media, rate_per_s)),
    )


def _medium(medium: Medium, seen: Sequence[tuple[TrialStep, Loads]]) -> MediumTrial:
    strokes: list[StrokeSeen] = []
    relaxations: list[Relaxation] = []
    sags: list[float] = []
    pulled = None
    for step, loads in seen:
        steadied = _steadied(loads)
        rises = [rise for rise in _rises(steadied) if rise.after_psi > _FIRST_STROKE_PSI]
        if step.kind is StepKind.PULL:
            pulled = pull(steadied) or pulled
        elif step.kind is StepKind.STROKES:
            strokes += (_stroke(step.size, rise) for rise in rises)
            relaxations += (_relaxation(steadied, rise, rises) for rise in rises)
            sags += _sags(rises)
    asked = [step for step, _ in seen if step.kind is StepKind.STROKES]
    return MediumTrial(
        medium=medium,
        strokes=tuple(strokes),
        sizes=tuple(_size(step, strokes, medium) for step in asked),
        relaxations=tuple(relaxations),
        sag_per_s=_within(statistics.median(sags), *_SAGS) if sags else None,
        pull=pulled,
    )


def _steadied(loads: Loads) -> list[tuple[int, float]]:
    load = SteadyLoad()
    return [one for t_ns, psi in loads if (one := load.feed(t_ns, psi)) is not None]


def _rises(steadied: Loads) -> Iterator[Rise]:
    rises = Rises()
    for t_ns, psi in steadied:
        if (rise := rises.feed(t_ns, psi)) is not None:
            yield rise


def _sags(rises: Sequence[Rise]) -> Iterator[float]:
    """Share of the load lost in a second of rest; of a load let off none is told."""
    for rise in rises:
        if rise.sagged_psi_s is not None and rise.before_psi > _FIRST_STROKE_PSI:
            yield rise.sagged_psi_s / rise.before_psi


def _stroke(size: float, rise: Rise) -> StrokeSeen:
    return StrokeSeen(
        size=size, before_psi=rise.before_psi, gain_psi=rise.after_psi - rise.before_psi
    )


def _relaxation(steadied: Loads, rise: Rise, rises: Sequence[Rise]) -> Relaxation:
    next_ns = min(
        (one.start_ns for one in rises if one.start_ns > rise.end_ns), default=steadied[-1][0]
    )

    def lost_pct(after_s: float) -> float | None:
        at_ns = rise.end_ns + round(after_s * _NS_PER_S)
        if at_ns > next_ns:
            return None
        psi = next(psi for t_ns, psi in steadied if t_ns >= at_ns)
        return 100 * (rise.after_psi - psi) / rise.after_psi

    half, one, three, ten = map(lost_pct, _AFTER_S)
    return Relaxation(
        load_psi=rise.after_psi,
        lost_pct_05s=half,
        lost_pct_1s=one,
        lost_pct_3s=three,
        lost_pct_10s=ten,
    )


def _size(step: TrialStep, strokes: Sequence[StrokeSeen], medium: Medium) -> SizeSeen:
    full = [one.gain_psi / _shape(one, medium) for one in strokes if one.size == 1.0]
    made = [one.gain_psi / _shape(one, medium) for one in strokes if one.size == step.size]
    mean = statistics.fmean(made) if made else None
    spread = statistics.stdev(made) if len(made) > 1 else None
    return SizeSeen(
        size=step.size,
        found=len(made),
        wanted=step.count,
        share=mean / statistics.median(full) if mean and full else None,
        scatter_pct=100 * spread / mean if spread is not None and mean else None,
    )


def _shape(stroke: StrokeSeen, medium: Medium) -> float:
    """What a full stroke gains at that load, up to a factor: on steel the same at any load."""
    usual = Learned(PacingStart())
    return 1.0 if medium is Medium.DISC else usual.gain_psi(stroke.before_psi)


def _start(sand: MediumTrial | None) -> PacingStart:
    """What the pacing starts from, by the strokes on sand."""
    usual = Learned(PacingStart())
    made = sand.strokes if sand else ()
    ratios = [SAGGED * s.gain_psi / (s.size * usual.gain_psi(s.before_psi)) for s in made]
    if sand is None or len(ratios) < _LEAST_STROKES:
        return PacingStart()
    factor = statistics.median(ratios)
    surprises = [
        ((ratio / factor - 1) / usual.scatter(one.size)) ** 2
        for ratio, one in zip(ratios, made, strict=True)
    ]
    # A median of normal values scatters 1.25 times as much as their mean (from memory: sqrt(pi/2)).
    by_chance = 1.25 * statistics.pstdev(map(math.log, ratios)) / math.sqrt(len(ratios))
    sag_per_s = PacingStart().sag_per_s if sand.sag_per_s is None else sand.sag_per_s
    return PacingStart(
        gain_factor=factor,
        gain_sd=min(math.hypot(by_chance, ANOTHER_BED_SD), PacingStart().gain_sd),
        scatter=_within(statistics.fmean(surprises) ** 0.5, *_SCATTERS),
        sag_per_s=sag_per_s,
    )


def _findings(media: Sequence[MediumTrial], rate_per_s: float) -> Iterator[str]:
    if rate_per_s < _FAST_PER_S:
        yield f"{rate_per_s:.0f} readings/s: expected about 80, at which a stroke can be followed"
    for one in media:
        for size in one.sizes:
            if size.found != size.wanted:
                yield (
                    f"{one.medium}: {size.found} strokes of {size.size:g} were seen, "
                    f"{size.wanted} asked for"
                )
        if one.pull is None:
            yield f"{one.medium}: no slow pull of {LEAST_PULL_S:g} s or more was seen"
    if Medium.SAND not in [one.medium for one in media]:
        yield "nothing was tried on sand: the pacing starts from a usual press"


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
