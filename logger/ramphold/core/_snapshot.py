"""The state of a run at one moment, as a screen needs it."""

from msgspec import Struct

from ramphold.core._cues import Cue, Style
from ramphold.core._states import RunState
from ramphold.core._warnings import StandingWarning


class Snapshot(Struct, frozen=True, kw_only=True):
    """The run as of its newest reading; a value is None while it is not known.

    Attributes:
        t_ns: monotonic time of the newest input, in ns.
        reading_t_ns: monotonic time of the newest usable reading, in ns.
        state: the state of the run.
        reason: why it is in this state.
        force_lbf, stress_psi: the load now, median of three.
        target_psi, target_lbf, ceiling_lbf, rating_lbf: from the plan.
        line_psi: where the ramp line is now.
        deviation_psi: stress less the line; positive is ahead.
        rate_psi_min: rate of the load over the last 10 s; it lags by about half of that.
        cue: what the operator should do; None while it is not known.
        style, suggested_style: how the run is paced, and the style that the strokes look like.
        warnings: those that are active, most severe first.
        past_psi: the steadied load of the last seconds, one a second, the newest first.
        ramp_s: time since the ramp began.
        hold_s, hold_to_go_s: time held so far, and time left.
        out_of_band_s: time of the hold outside its band.
        peak_lbf: greatest load so far.
        rest_lbf: least load since the run ended; None while it is live.
        stale: whether readings are missing.
        too_slow_per_s: readings a second where they are too few to pace by.
    """

    t_ns: int
    reading_t_ns: int | None
    state: RunState
    reason: str
    force_lbf: float | None
    stress_psi: float | None
    target_psi: float
    target_lbf: float
    ceiling_lbf: float
    rating_lbf: float
    line_psi: float | None
    deviation_psi: float | None
    rate_psi_min: float | None
    cue: Cue | None
    style: Style
    suggested_style: Style | None
    warnings: tuple[StandingWarning, ...]
    past_psi: tuple[float, ...]
    ramp_s: float | None
    hold_s: float | None
    hold_to_go_s: float | None
    out_of_band_s: float
    peak_lbf: float | None
    stale: bool
    rest_lbf: float | None = None
    too_slow_per_s: float | None = None
