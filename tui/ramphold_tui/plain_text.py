"""The screen as lines of text, one for each change, for screen readers and logs."""

import asyncio
from collections.abc import Callable
from pathlib import Path

from ramphold.clock import Clock, SystemClock
from ramphold_tui.link import DaemonLink
from ramphold_tui.view.bench_state import BenchState, Heard
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.press_pane import press_view

# A line for each tenth of the target, and for each ten seconds of the hold.
_LOAD_STEPS = 10
_HOLD_STEP_S = 10
# No message tells that the daemon is silent.
_LOOK_EVERY_S = 0.5


class Reporter:
    """Writes a line for each change that matters."""

    def __init__(self, write: Callable[[str], object], clock: Clock) -> None:
        self._write, self._clock = write, clock
        self._bench = BenchState()
        self._topic: object = None

    def take(self, heard: Heard) -> None:
        """Learn what was heard."""
        self._bench = self._bench.learn(heard, self._clock.now_ns())
        self.look()

    def look(self) -> None:
        """Write a line if something has changed enough."""
        bench, now_ns = self._bench, self._clock.now_ns()
        if bench.live is None and bench.lost is None:
            return
        view = press_view(bench, now_ns)
        state = bench.snapshot.state if bench.snapshot and bench.lost is None else ""
        topic = (state, view.banner.name, *_steps(bench))
        if topic == self._topic:
            return
        self._topic = topic
        word = view.banner.word.lower()
        # Without a run, or with an unknown load, no state is claimed.
        known = state not in ("", word) and view.tone is not Tone.FADED
        parts = [f"{state}: {word}" if known else word]
        parts[0] += f": {view.banner.detail}"
        if bench.lost is None and bench.live is not None and bench.live.force_lbf is not None:
            parts.append(f"load {view.load} lbf")
            parts += [f"stress {view.stress} psi"] if bench.snapshot else []
            parts += [view.deviation] if view.deviation else []
        self._write(", ".join(parts))


async def report_changes(path: Path, write: Callable[[str], object]) -> None:
    """Follow the daemon at `path` until cancelled, and write a line at each change."""
    reporter = Reporter(write, SystemClock())
    waiting: asyncio.Queue[Heard] = asyncio.Queue()
    link = asyncio.create_task(DaemonLink(path, waiting.put_nowait).run(), name="link")
    try:
        while not link.done():
            try:
                async with asyncio.timeout(_LOOK_EVERY_S):
                    reporter.take(await waiting.get())
            except TimeoutError:
                reporter.look()
        link.result()
    finally:
        link.cancel()
        await asyncio.wait([link])


def _steps(bench: BenchState) -> tuple[int, int]:
    snapshot = bench.snapshot
    if snapshot is None or bench.lost is not None:
        return 0, 0
    load = int((snapshot.stress_psi or 0.0) / snapshot.target_psi * _LOAD_STEPS + 0.5)
    return load, int((snapshot.hold_s or 0.0) / _HOLD_STEP_S)
