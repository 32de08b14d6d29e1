"""What the screen shows at the press, and of the press elsewhere."""

from msgspec import Struct

from ramphold.core import Quality, RunState, Snapshot
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Banner, Meter, Sound, StyledLine, Tone
from ramphold_tui.view.press_alarms import standing_lines
from ramphold_tui.view.press_banner import banner, deviation_words
from ramphold_tui.view.press_meters import meters
from ramphold_tui.view.press_situation import force_lbf, is_old
from ramphold_tui.view.situations_in_run import WAITING_HOLD

_ON_LINE = (RunState.RAMP, RunState.HOLD)
_STOPPING = (Sound.STOP, Sound.OVERLOAD)


class PressView(Struct, frozen=True, kw_only=True):
    """What the press screen shows.

    Attributes:
        load, stress: digits in lbf and psi; `tone` is for both.
        lbf_first: whether the load is read first: as the bench says, and where no bore is known.
        waiting: whether nothing is to be done but to count the seconds of a hold.
        rests: whether the word says not to pull, whatever pace the pacing asks for.
        caption: what is wrong with the digits, or how old they are.
        banner: the word, its sentence, what comes next.
        beside: lines that stand beside the word, the most urgent first.
        deviation, line, rate: the deviation, the line's stress and the rate in words.
        meters: hold, ceiling, rating.
    """

    load: str
    stress: str
    lbf_first: bool
    waiting: bool
    rests: bool
    tone: Tone
    caption: str
    banner: Banner
    beside: tuple[StyledLine, ...]
    deviation: str
    line: str
    rate: str
    meters: tuple[Meter, ...]


def press_view(bench: BenchState, now_ns: int) -> PressView:
    """All that the press screen shows."""
    snapshot, load_lbf = bench.snapshot, force_lbf(bench)
    # There is no line before the ramp, and nothing to keep to after the hold.
    # Nor can a load that is not known be ahead or behind.
    faded = bench.lost is not None or load_lbf is None or is_old(bench, now_ns)
    followed = snapshot is not None and snapshot.state in _ON_LINE and not faded
    on_line = snapshot if followed else None
    said = banner(bench, now_ns)
    stress_psi = _stress_psi(snapshot, load_lbf)
    lbf_leads = bench.status is not None and bench.status.first_unit == "lbf"
    return PressView(
        load=formats.grouped(load_lbf),
        stress=formats.grouped(stress_psi),
        lbf_first=lbf_leads or (stress_psi is None and load_lbf is not None),
        waiting=said.name == WAITING_HOLD,
        # A calm word asks for nothing.
        rests=said.sound in _STOPPING or said.tone is Tone.CALM,
        tone=Tone.FADED if faded else Tone.CALM,
        caption=_caption(bench, bench.reading_age_s(now_ns), faded=faded),
        banner=said,
        beside=standing_lines(bench, said.name),
        deviation=deviation_words(on_line) if on_line else "",
        line=_line(on_line),
        rate=_rate(on_line),
        meters=meters(bench, load_lbf),
    )


def status_view(bench: BenchState) -> tuple[str, str]:
    """Bench, run and target; and the state of link and instruments."""
    parts = [bench.status.bench if bench.status else "no bench yet"]
    if bench.live and bench.live.run is not None:
        parts.append(f"run {bench.live.run}")
    if snapshot := bench.snapshot:
        pulled = bench.running and snapshot.state is not RunState.RELEASE
        parts.append(f"{snapshot.state} ({snapshot.style})" if pulled else str(snapshot.state))
        target_lbf = formats.grouped(snapshot.target_lbf)
        parts.append(f"target {formats.psi(snapshot.target_psi)}, {target_lbf} lbf")
    bad = [one.name for one in bench.instruments if not one.ok]
    if bench.lost is not None:
        link = "NO LINK"
    elif bad:
        link = f"NOT WORKING: {', '.join(bad)}"
    else:
        link = "linked" if bench.status else "linking"
    return "  ".join(parts), link


def strip_view(bench: BenchState, now_ns: int) -> tuple[str, str, Tone]:
    """The press in one line, for the other places."""
    view = press_view(bench, now_ns)
    load, place = f"{view.load} lbf", "press"
    if bench.snapshot is not None:
        place = f"press, {bench.snapshot.state}"
        load += f"   {view.stress} psi   {view.deviation}"
    if bench.lost is not None and bench.heard_ns is not None:
        # In place of digits that nobody should rely on.
        load = f"all as of {formats.age((now_ns - bench.heard_ns) / 1e9)} ago"
    elif view.banner.tone is Tone.ALARM:
        load = view.banner.detail
    return f"{place}: {view.banner.word}", load.rstrip(), view.banner.tone


def _caption(bench: BenchState, age_s: float | None, *, faded: bool) -> str:
    quality = bench.live.quality if bench.live else None
    if not faded:
        # That the load moves is what a run is for; a zero needs a load that rests.
        usual = {None, Quality.GOOD, Quality.UNSTEADY if bench.running else None}
        if quality is Quality.UNSTEADY and quality not in usual:
            return "unsteady: still moving"
        return "" if quality in usual else str(quality)
    if bench.live is not None and bench.live.force_lbf is None and quality is not None:
        return f"no value: {quality}"
    return "no reading yet" if age_s is None else f"as of {formats.age(age_s)} ago"


def _stress_psi(snapshot: Snapshot | None, force_lbf: float | None) -> float | None:
    # Without a run the bore is unknown.
    if snapshot is None or force_lbf is None:
        return None
    return force_lbf * snapshot.target_psi / snapshot.target_lbf


def _line(snapshot: Snapshot | None) -> str:
    if snapshot is None or snapshot.line_psi is None:
        return ""
    force_lbf = snapshot.line_psi * snapshot.target_lbf / snapshot.target_psi
    return f"line {formats.psi(snapshot.line_psi)}, {formats.grouped(force_lbf)} lbf"


def _rate(snapshot: Snapshot | None) -> str:
    if snapshot is None or snapshot.rate_psi_min is None:
        return ""
    return f"{formats.grouped(snapshot.rate_psi_min)} psi/min"
