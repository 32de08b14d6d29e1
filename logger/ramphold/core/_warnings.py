"""Warnings of a load near or over a limit, and of readings that cannot be trusted.

They use raw readings and a rule of agreement: three of the last four readings must be over the
limit, and as close together as a press can move in that time. A spike of one or two readings does
not trip it. A real overload does at its third reading: 0.3 s after the crossing at 10 readings/s,
40 ms at 80/s. With a spike in one of a thousand readings, and one in ten of them two readings
long, a double and a single spike have to meet and agree. That happens at about 1.5e-8 of all
readings at 10/s and 2e-9 at 80/s: one false alarm in 25 000 runs.
"""

import math
from collections import deque
from enum import StrEnum
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from ramphold.core._filters import reach_psi
from ramphold.core._plan import RunPlan
from ramphold.core._readings import Quality, Reading
from ramphold.core._states import RunState

_GOOD = Quality.GOOD
_WINDOW, _AGREE = 4, 3
_NEAR_RATING = 0.9
# A held load creeps, and a pull raises it; neither turns back again and again, as one that swings
# does. A spike turns once. The share of the target is an eighth of the band on each side.
_SWING, _TURNS, _SWING_WINDOW = 0.0025, 3, 8


class WarningKind(StrEnum):
    """What a warning is about, most severe last."""

    NEAR_CEILING = "near ceiling"
    UNSTEADY = "unsteady"
    STALE = "stale"
    SATURATED = "saturated"
    NOT_RECORDED = "not recorded"
    NO_ANSWER = "load does not answer"
    JUMPED = "load jumped"
    OVER_CEILING = "over ceiling"
    NEAR_RATING = "near rating"
    OVER_RATING = "over rating"

    @property
    def latched(self) -> bool:
        """Whether it stays until acknowledged, with a bell."""
        return self in _LATCHED


_LATCHED = frozenset(
    {
        WarningKind.NOT_RECORDED,
        WarningKind.NO_ANSWER,
        WarningKind.JUMPED,
        WarningKind.OVER_CEILING,
        WarningKind.NEAR_RATING,
        WarningKind.OVER_RATING,
    }
)
_RISING = {kind: grade for grade, kind in enumerate(WarningKind)}


class WarningRaised(Struct, frozen=True, kw_only=True):
    """A warning began.

    Attributes:
        t_ns: monotonic time of the reading that raised it, in ns.
        kind: what it is about.
        name: the limit: `ceiling`, or the weakest of press, cell and sensor.
        load_lbf: the load, or the expected load; None if unknown.
        limit_lbf: the limit; None if there is none.
        margin_lbf: limit less load; negative if over.
    """

    t_ns: int
    kind: WarningKind
    name: str
    load_lbf: float | None = None
    limit_lbf: float | None = None
    margin_lbf: float | None = None


class WarningAcknowledged(Struct, frozen=True, kw_only=True):
    """A person acknowledged a latched warning."""

    t_ns: int
    kind: WarningKind


class WarningCleared(Struct, frozen=True, kw_only=True):
    """A warning ended: its cause is gone and, if it is latched, it was acknowledged."""

    t_ns: int
    kind: WarningKind


class StandingWarning(Struct, frozen=True, kw_only=True):
    """An active warning, with the greatest load since it was raised."""

    raised: WarningRaised
    persists: bool = True
    acknowledged: bool = False

    @property
    def kind(self) -> WarningKind:
        """What it is about."""
        return self.raised.kind


class Rating(Struct, frozen=True, kw_only=True):
    """The rating of a press while no run gives it a ceiling.

    Attributes:
        rating_lbf, rating_name: rating of the weakest of press, cell and sensor, and its name.
        area_in2: area of the bore.
    """

    rating_lbf: float
    rating_name: str
    area_in2: float


WarningEvent = WarningRaised | WarningAcknowledged | WarningCleared


class Warnings:
    """Raises, latches and clears the warnings of a run, or of a press without a run."""

    def __init__(self, plan: RunPlan | Rating) -> None:
        self._area_in2 = plan.area_in2
        self._ceiling_lbf = plan.ceiling_lbf if isinstance(plan, RunPlan) else math.inf
        self._limits = (
            (WarningKind.OVER_CEILING, "ceiling", self._ceiling_lbf),
            (WarningKind.NEAR_RATING, plan.rating_name, self._near_rating_lbf(plan)),
            (WarningKind.OVER_RATING, plan.rating_name, plan.rating_lbf),
        )
        self._swing_lbf = plan.target_lbf * _SWING if isinstance(plan, RunPlan) else math.inf
        self._least_limit_lbf = min(limit_lbf for _, _, limit_lbf in self._limits)
        self._over_for = 0
        self._way_lbf: deque[float] = deque(maxlen=_SWING_WINDOW)
        self._loads: deque[tuple[int, float]] = deque(maxlen=_WINDOW)
        self._qualities: deque[Quality] = deque(maxlen=_WINDOW)
        self._standing: dict[WarningKind, StandingWarning] = {}
        self._events: list[WarningEvent] = []

    @property
    def standing(self) -> tuple[StandingWarning, ...]:
        """The active warnings, most severe first."""
        if not self._standing:
            return ()
        return tuple(sorted(self._standing.values(), key=lambda s: -_RISING[s.kind]))

    @property
    def stand(self) -> bool:
        """Whether there are any."""
        return bool(self._standing)

    def _near_rating_lbf(self, plan: RunPlan | Rating) -> float:
        near_lbf = plan.rating_lbf * _NEAR_RATING
        if math.isinf(self._ceiling_lbf):
            return near_lbf
        # A run that is planned to come near the rating is not warned of being where it should be.
        return min(max(near_lbf, self._ceiling_lbf), plan.rating_lbf)

    def answer(self, t_ns: int, load_lbf: float, *, silent: bool) -> list[WarningEvent]:
        """Take whether the load answers what is cued."""
        if silent:
            kind = WarningKind.NO_ANSWER
            self._begin(WarningRaised(t_ns=t_ns, kind=kind, name="load", load_lbf=load_lbf))
        else:
            self._end(t_ns, WarningKind.NO_ANSWER)
        return self._take()

    def jumped(self, t_ns: int, load_lbf: float) -> list[WarningEvent]:
        """Take that the load jumped as no press can make it."""
        kind = WarningKind.JUMPED
        self._begin(WarningRaised(t_ns=t_ns, kind=kind, name="load", load_lbf=load_lbf))
        self._end(t_ns, kind)
        return self._take()

    def feed(self, reading: Reading, state: RunState) -> list[WarningEvent]:
        """Process a raw reading, with the state of the run."""
        t_ns = reading.t_ns
        usable, load_lbf = reading.usable, reading.force_lbf
        self._qualities.append(reading.quality)
        if usable:
            self._loads.append((t_ns, load_lbf))
            self._way_lbf.append(load_lbf)
        if self._standing or self._qualities.count(_GOOD) < _WINDOW:
            self._judge_quality(t_ns, WarningKind.SATURATED, Quality.SATURATED)
            self._judge_motion(t_ns, state)
        if usable:
            self._over_for = _WINDOW if load_lbf > self._least_limit_lbf else self._over_for - 1
            # Nearly always all loads are under all limits, and nothing stands that could end.
            if self._over_for > 0 or self._standing:
                self._end(t_ns, WarningKind.STALE)
                for kind, name, limit_lbf in self._limits:
                    self._judge_load(kind, name, limit_lbf)
        return self._take()

    def lost(self, t_ns: int) -> list[WarningEvent]:
        """Raise the warning that usable readings are missing."""
        self._begin(WarningRaised(t_ns=t_ns, kind=WarningKind.STALE, name="readings"))
        return self._take()

    def recorded(self, t_ns: int, *, kept: bool) -> list[WarningEvent]:
        """Take whether the database keeps what is read."""
        if kept:
            self._end(t_ns, WarningKind.NOT_RECORDED)
        else:
            kind = WarningKind.NOT_RECORDED
            self._begin(WarningRaised(t_ns=t_ns, kind=kind, name="database"))
        return self._take()

    def expect(self, t_ns: int, load_lbf: float, *, refused: bool) -> list[WarningEvent]:
        """Process the load that the cue expects, and whether the ceiling limits the cue."""
        if refused:
            kind = WarningKind.NEAR_CEILING
            self._begin(_raised(t_ns, kind, "ceiling", load_lbf, self._ceiling_lbf))
        else:
            self._end(t_ns, WarningKind.NEAR_CEILING)
        return self._take()

    def acknowledge(self, t_ns: int) -> list[WarningEvent]:
        """Acknowledge the latched warnings. None of them clears without this."""
        for kind, standing in list(self._standing.items()):
            if kind.latched and not standing.acknowledged:
                self._events.append(WarningAcknowledged(t_ns=t_ns, kind=kind))
                self._standing[kind] = replace(standing, acknowledged=True)
                if not standing.persists:
                    self._end(t_ns, kind)
        return self._take()

    def _judge_load(self, kind: WarningKind, name: str, limit_lbf: float) -> None:
        t_ns, _ = self._loads[-1]
        over = [load for _, load in self._loads if load > limit_lbf]
        load_lbf = self._borne_out_lbf(over)
        if load_lbf is not None:
            self._begin(_raised(t_ns, kind, name, load_lbf, limit_lbf))
        elif len(self._loads) - len(over) >= _AGREE:
            self._end(t_ns, kind)

    def _borne_out_lbf(self, loads_lbf: list[float]) -> float | None:
        """The greatest load that two others agree with: a spike has no more than one."""
        elapsed_s = (self._loads[-1][0] - self._loads[0][0]) / 1e9
        reach_lbf = reach_psi(elapsed_s) * self._area_in2
        ranked = sorted(loads_lbf, reverse=True)
        of_three = zip(ranked, ranked[_AGREE - 1 :], strict=False)
        return next((most for most, least in of_three if most - least <= reach_lbf), None)

    def _judge_quality(self, t_ns: int, kind: WarningKind, quality: Quality) -> None:
        if self._qualities.count(quality) >= _AGREE:
            self._begin(WarningRaised(t_ns=t_ns, kind=kind, name="sensor"))
        elif self._qualities.count(quality) <= _WINDOW - _AGREE:
            self._end(t_ns, kind)

    def _judge_motion(self, t_ns: int, state: RunState) -> None:
        """Outside the hold the load is meant to move, and in it a little too."""
        kind = WarningKind.UNSTEADY
        if state is not RunState.HOLD:
            self._end(t_ns, kind)
        elif kind in self._standing or self._swings():
            self._judge_quality(t_ns, kind, Quality.UNSTEADY)

    def _swings(self) -> bool:
        steps = [b - a for a, b in pairwise(self._way_lbf)]
        turns = (a * b < 0 and min(abs(a), abs(b)) > self._swing_lbf for a, b in pairwise(steps))
        return sum(turns) >= _TURNS

    def _begin(self, raised: WarningRaised) -> None:
        standing = self._standing.get(raised.kind)
        if standing is None:
            self._standing[raised.kind] = StandingWarning(raised=raised)
            self._events.append(raised)
        else:
            worst = max(standing.raised, raised, key=lambda r: r.load_lbf or 0.0)
            self._standing[raised.kind] = replace(standing, raised=worst, persists=True)

    def _end(self, t_ns: int, kind: WarningKind) -> None:
        standing = self._standing.get(kind) if self._standing else None
        if standing is None:
            return
        if kind.latched and not standing.acknowledged:
            self._standing[kind] = replace(standing, persists=False)
            return
        del self._standing[kind]
        self._events.append(WarningCleared(t_ns=t_ns, kind=kind))

    def _take(self) -> list[WarningEvent]:
        events, self._events = self._events, []
        return events


def _raised(
    t_ns: int, kind: WarningKind, name: str, load_lbf: float, limit_lbf: float
) -> WarningRaised:
    return WarningRaised(
        t_ns=t_ns,
        kind=kind,
        name=name,
        load_lbf=load_lbf,
        limit_lbf=limit_lbf,
        margin_lbf=limit_lbf - load_lbf,
    )
