"""From what the screen knows to what it says. Pure: no widget, no clock."""

from dataclasses import dataclass
from enum import StrEnum

from ramphold.core import Quality, RunState, Snapshot
from ramphold_tui import formats
from ramphold_tui.bench import Bench

__all__ = ["Gauge", "Headline", "PressView", "Tone", "headline", "press_view", "status_view"]


class Tone(StrEnum):
    """How much a thing asks for attention; also the name of its style."""

    FADED = "faded"
    CALM = "calm"
    ACT = "act"
    CAUTION = "caution"
    ALARM = "alarm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """The biggest word on the screen, and a line that makes it precise."""

    word: str
    detail: str
    tone: Tone = Tone.CALM


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A bar that fills from 0 to 1 towards what its text names."""

    label: str
    share: float
    text: str
    tone: Tone = Tone.CALM


@dataclass(frozen=True, slots=True, kw_only=True)
class PressView:
    """What stands at the press.

    Attributes:
        load, stress: digits in lbf and psi, and `tone` of both.
        caption: what the digits are, or how old.
        headline: what goes on, or what to do.
        pursuit: share of the deviation scale, -1 (behind) to 1 (ahead); None without a line.
        deviation, line, rate: the same in words.
        gauges: hold, ceiling, rating.
    """

    load: str
    stress: str
    tone: Tone
    caption: str
    headline: Headline
    pursuit: float | None
    deviation: str
    line: str
    rate: str
    gauges: tuple[Gauge, ...]


# Full deflection of the deviation bar, in % of target: twice the hold's band.
_SCALE_PCT = 4.0
# Nearer to a limit than this, in % of it, the bar asks for attention.
_NEAR_PCT = 1.0
_STALE_S = 0.5

_STATE_WORDS = {
    RunState.READY: ("READY", "bring the piston to first contact"),
    RunState.SEATING: ("SEATING", "let the piston settle, then go on to the seating load"),
    RunState.RAMP: ("RAMP", "keep the load on the line"),
    RunState.HOLD: ("HOLD", "keep the load in the band"),
    RunState.RELEASE: ("RELEASE", "the hold is up: bring the load down slowly and fully"),
    RunState.COMPLETE: ("COMPLETE", "next: sieve the specimen"),
    RunState.STOPPED: ("STOPPED", ""),
    RunState.INTERRUPTED: ("INTERRUPTED", "the readings until then are kept"),
}


def press_view(bench: Bench, now_ns: int) -> PressView:
    """All that stands at the press."""
    live, snapshot = bench.live, bench.snapshot
    age_s = bench.reading_age_s(now_ns)
    known = live is not None and live.force_lbf is not None
    faded = bench.lost is not None or not known or _is_old(bench, now_ns)
    # A filtered load where a run has one, since that is what the run is judged on.
    force = live.force_lbf if live and known else None
    if snapshot and bench.running and snapshot.force_lbf is not None and known:
        force = snapshot.force_lbf
    return PressView(
        load=formats.grouped(force),
        stress=formats.grouped(_stress_psi(snapshot, force)),
        tone=Tone.FADED if faded else Tone.CALM,
        caption=_caption(bench, age_s, faded=faded),
        headline=headline(bench, now_ns),
        pursuit=_pursuit(snapshot),
        deviation=_deviation(snapshot),
        line=_line(snapshot),
        rate="" if snapshot is None else _rate(snapshot),
        gauges=_gauges(bench, snapshot, force),
    )


def status_view(bench: Bench) -> tuple[str, str]:
    """What is looked at, and how the link is, for the line on top."""
    name = bench.status.bench if bench.status else "no bench yet"
    parts = [name]
    if bench.live and bench.live.run is not None:
        parts.append(f"run {bench.live.run}")
    if bench.snapshot:
        parts.append(f"target {formats.psi(bench.snapshot.target_psi)}")
        parts.append(f"{formats.grouped(bench.snapshot.target_lbf)} lbf")
    bad = [one.name for one in bench.instruments if not one.ok]
    if bench.lost is not None:
        link = "NO LINK"
    elif bad:
        link = f"check: {', '.join(bad)}"
    else:
        link = "linked" if bench.status else "linking"
    return "  ".join(parts), link


def headline(bench: Bench, now_ns: int) -> Headline:
    """The one thing to see: a broken link first, then missing readings, then the run."""
    if bench.lost is not None:
        since = "" if bench.heard_ns is None else f" for {_since(bench.heard_ns, now_ns)}"
        detail = f"the daemon has not been heard{since}; trying again. Go by the gauge."
        return Headline(word="NO LINK", detail=detail, tone=Tone.CAUTION)
    if bench.live is None:
        return Headline(word="LINKING", detail="waiting for the daemon", tone=Tone.FADED)
    if bench.live.quality is Quality.SATURATED:
        return Headline(
            word="SATURATED", detail="the sensor is at its end: go by the gauge", tone=Tone.CAUTION
        )
    if _is_old(bench, now_ns):
        return _no_reading(bench, now_ns)
    snapshot = bench.snapshot
    if snapshot is None:
        detail = "no run is being followed; the load is shown, not recorded"
        return Headline(word="NO RUN", detail=detail)
    return _of_run(snapshot)


def _no_reading(bench: Bench, now_ns: int) -> Headline:
    age_s = bench.reading_age_s(now_ns)
    since = "yet" if age_s is None else f"for {formats.age(age_s)}"
    detail = f"no reading of the load {since}: go by the gauge, look at the indicator's cable"
    return Headline(word="NO READING", detail=detail, tone=Tone.CAUTION)


def _of_run(snapshot: Snapshot) -> Headline:
    word, detail = _STATE_WORDS[snapshot.state]
    match snapshot.state:
        case RunState.HOLD:
            to_go = formats.countdown(snapshot.hold_to_go_s or 0.0)
            return Headline(word=word, detail=f"{to_go} to go: {detail}", tone=Tone.ACT)
        case RunState.RAMP | RunState.RELEASE:
            return Headline(word=word, detail=detail, tone=Tone.ACT)
        case RunState.STOPPED:
            return Headline(word=word, detail=snapshot.reason, tone=Tone.CAUTION)
        case _:
            return Headline(word=word, detail=detail)


def _is_old(bench: Bench, now_ns: int) -> bool:
    snapshot, age_s = bench.snapshot, bench.reading_age_s(now_ns)
    if bench.running and snapshot is not None:
        # The run knows its own limit; what it can't know is that the daemon went silent.
        return snapshot.stale or age_s is None or age_s > _STALE_S * 4
    return age_s is None or age_s > _STALE_S * 4


def _since(then_ns: int, now_ns: int) -> str:
    return formats.age((now_ns - then_ns) / 1e9)


def _caption(bench: Bench, age_s: float | None, *, faded: bool) -> str:
    if not faded:
        quality = bench.live.quality if bench.live else None
        return "" if quality in (None, Quality.GOOD) else str(quality)
    if bench.live is not None and bench.live.force_lbf is None and bench.live.quality:
        return f"no value: {bench.live.quality}"
    return "no reading yet" if age_s is None else f"as of {formats.age(age_s)} ago"


def _stress_psi(snapshot: Snapshot | None, force_lbf: float | None) -> float | None:
    # Without a run nobody has said which bore it is.
    if snapshot is None or force_lbf is None:
        return None
    return force_lbf * snapshot.target_psi / snapshot.target_lbf


def _pursuit(snapshot: Snapshot | None) -> float | None:
    if snapshot is None or snapshot.deviation_psi is None:
        return None
    share = snapshot.deviation_psi / (snapshot.target_psi * _SCALE_PCT / 100)
    return max(-1.0, min(1.0, share))


def _deviation(snapshot: Snapshot | None) -> str:
    if snapshot is None or snapshot.deviation_psi is None:
        return ""
    return formats.signed_gap(
        snapshot.deviation_psi, "psi", over="ahead", under="behind", none="on the line"
    )


def _line(snapshot: Snapshot | None) -> str:
    if snapshot is None or snapshot.line_psi is None:
        return ""
    force = snapshot.line_psi * snapshot.target_lbf / snapshot.target_psi
    return f"line {formats.psi(snapshot.line_psi)}, {formats.grouped(force)} lbf"


def _rate(snapshot: Snapshot) -> str:
    if snapshot.rate_psi_min is None:
        return ""
    return f"rate {formats.grouped(snapshot.rate_psi_min)} psi/min"


def _gauges(bench: Bench, snapshot: Snapshot | None, force_lbf: float | None) -> tuple[Gauge, ...]:
    if snapshot is None:
        return ()
    return (
        _hold(bench, snapshot),
        _margin("ceiling", force_lbf, snapshot.ceiling_lbf),
        _margin("rating", force_lbf, snapshot.rating_lbf),
    )


def _hold(bench: Bench, snapshot: Snapshot) -> Gauge:
    if snapshot.hold_s is None or snapshot.hold_to_go_s is None:
        planned = f"{bench.record.plan.hold_s:g} s planned" if bench.record else ""
        return Gauge(label="hold", share=0.0, text=planned, tone=Tone.FADED)
    planned_s = snapshot.hold_s + snapshot.hold_to_go_s
    if bench.record:
        planned_s = bench.record.plan.hold_s
    text = f"{snapshot.hold_s:.0f} s held, {formats.countdown(snapshot.hold_to_go_s)} to go"
    if round(snapshot.out_of_band_s, 1):
        text += f", {snapshot.out_of_band_s:.1f} s out"
    return Gauge(label="hold", share=min(1.0, snapshot.hold_s / planned_s), text=text)


def _margin(label: str, force_lbf: float | None, limit_lbf: float) -> Gauge:
    if force_lbf is None:
        return Gauge(label=label, share=0.0, text=f"{formats.grouped(limit_lbf)} lbf")
    left_lbf = limit_lbf - force_lbf
    where = formats.signed_gap(left_lbf, "lbf", over="below", under="OVER", none="AT IT")
    tone = Tone.CALM
    if left_lbf < limit_lbf * _NEAR_PCT / 100:
        tone = Tone.ALARM if left_lbf < 0 else Tone.CAUTION
    return Gauge(
        label=label,
        share=max(0.0, min(1.0, force_lbf / limit_lbf)),
        text=f"{formats.grouped(limit_lbf)} lbf, {where}",
        tone=tone,
    )
