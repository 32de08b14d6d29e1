"""The press screen as a person sees it: what the view's pure functions return, in whole cells."""

from ramphold.control.run_methods import Live
from ramphold.sim import Screen
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.press_pane import press_view
from ramphold_tui.view.pursuit_strip import pursuit_strip

_COLUMNS = 80


def press_screen(live: Live) -> Screen:
    """The screen, 80 columns wide, that shows the load and the run as of `live`."""
    view = press_view(BenchState(live=live, heard_ns=live.t_ns), live.t_ns)
    strip = pursuit_strip(live.snapshot, _COLUMNS)
    return Screen(
        word=view.banner.word,
        detail=view.banner.detail,
        stress=view.stress,
        target_psi=0.0 if live.snapshot is None else live.snapshot.target_psi,
        mark=None if strip is None else strip.mark,
        load=None if strip is None else strip.load,
        cell_psi=0.0 if strip is None else strip.cell_psi,
    )
