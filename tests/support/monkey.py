"""A monkey at the operator's screen: keys, touches, pastes and sizes that nobody would choose.

It works the real screen on the real daemon and the simulated bench, and holds them to what is
promised: no exception, no word lost that was typed of a sample, no run begun without its question
and none ended but by itself or by its key.
"""

import random
from collections import Counter
from contextlib import asynccontextmanager, chdir
from pathlib import Path

from textual import events
from textual.geometry import Size
from textual.widgets import Button

from ramphold.control import run_queries, sample_methods, specimen_methods
from ramphold.demo import SimulatedBench
from ramphold.sample import Tick
from ramphold_tui.app import make_app
from ramphold_tui.screens import FormDialog
from ramphold_tui.screens.question_dialog import QuestionDialog
from ramphold_tui.view.keys import KEYS

OURS = [key for one in KEYS for key in one.key.split(",")]
EDITING = [
    "enter", "enter", "enter", "escape", "tab", "shift+tab", "up", "down", "left", "right", "home",
    "end", "backspace", "delete", "space", "pageup", "pagedown", "ctrl+a", "ctrl+c", "ctrl+e",
    "ctrl+k", "ctrl+u", "ctrl+v", "ctrl+w", "ctrl+x", "ctrl+z", "ctrl+p", "ctrl+backslash",
]  # fmt: skip
TYPED = [
    *"0123456789abcxyzKL./,+-%#'\"\\[]{}<>@$", "é", "ß", "漢", "\u0301", "\u200b", "🙂",
]  # fmt: skip
PASTED = [
    "4000psi", "S-1\n39.52 g\n", "\x00\x01\x02\x03\x1b[2J\x1b]0;title\x07", "\x1b[31m[bold]red[/]",
    "\u202e\u2066 to the left", "nan", "1e999", "-0", "9" * 400, "\ud7ff\ufffe\U0010fffd", "\r\r\r",
]  # fmt: skip
#: Ways into what chance alone seldom reaches.
TRAILS = [
    ("w", "escape", "f7"), ("w", "escape", "f6"), ("w", "f7"), ("w", "f6"), ("w", "p"), ("w", "d"),
    ("w", "f5"), ("w", "f5", "right", "enter"), ("f3", "m"), ("f3", "enter"), ("i", "z"),
    ("i", "f"), ("r", "enter"), ("t", "o"), ("t", "enter"), ("f2", "h", "space"), ("f1", "f1"),
]  # fmt: skip
SIZES = [(80, 24), (120, 40), (60, 20), (200, 60), (40, 12), (20, 6), (1, 1), (3, 2), (79, 23)]


class Monkey:
    """Does one thing after another, and looks at what came of each.

    Args:
        bench: the simulated bench with its daemon.
        app, pilot: the screen on it.
        seed: of everything that it does.

    Attributes:
        pressed: how often each key was pressed.
        agreed, started: how often it agreed to a run, and how many then began.
        closed: how often it would have closed the screen, which stays.
        forms: how often it found the form of a new sample as it had left it.
        last: what it did last, for a test that fails.
    """

    def __init__(self, bench, app, pilot, seed):
        self.bench, self.app, self.pilot = bench, app, pilot
        self.rng = random.Random(seed)
        self.pressed = Counter()
        self.agreed = self.started = self.forms = self.pastes = self.closed = 0
        self.last = []
        self._run = bench.daemon.press.live_run
        self._form, self._typed, self._samples = None, {}, 0
        app.action_quit = self._stay

    @classmethod
    @asynccontextmanager
    async def at_work(cls, folder, seed):
        """A monkey at the screen of a bench that has a sample with two specimens."""
        # Where it takes pictures of the screen.
        with chdir(folder):
            async with cls._at_work(folder, seed) as monkey:
                yield monkey

    @classmethod
    @asynccontextmanager
    async def _at_work(cls, folder, seed):
        async with SimulatedBench(folder, seed=3, speed=None) as bench:
            await bench.receive_sand("26-0417")
            await bench.ask(sample_methods.PLAN_STRESS, sample=1, stress_psi=2000.0, replicates=2)
            for number in (1, 2):
                await bench.ask(
                    specimen_methods.ADD_SPECIMEN,
                    label=f"S-{number}",
                    target_psi=2000.0,
                    sample=1,
                )
                await bench.ask(specimen_methods.TICK, specimen=number, what=Tick.CUT)
            app = make_app(Path(bench.config.control.socket))
            async with app.run_test(size=(80, 24)) as pilot:
                app.initials = "KL"
                yield cls(bench, app, pilot, seed)

    async def do_one(self):
        """Do one thing."""
        draw = self.rng.random()
        if draw < 0.03:
            for key in self.rng.choice(TRAILS):
                await self._press(key)
        elif draw < 0.90:
            await self._press(self._key())
        elif draw < 0.93:
            await self._paste()
        elif draw < 0.95:
            await self._resize()
        elif draw < 0.97:
            await self._touch()
        elif draw < 0.99:
            await self._pump(self.rng.choice((1, 3, 10, 40)))
        else:
            self._plug()

    async def _stay(self):
        self.closed += 1

    def _key(self):
        kind = self.rng.random()
        if isinstance(self.app.screen, FormDialog) and kind < 0.6:
            return self.rng.choice(TYPED + EDITING)
        if isinstance(self.app.screen, QuestionDialog) and kind < 0.6:
            return self.rng.choice(("left", "right", "right", "enter", "escape"))
        return self.rng.choice(OURS if kind < 0.75 else EDITING if kind < 0.9 else TYPED)

    async def _press(self, key):
        self.pressed[key] += 1
        self._note(key)
        before = self.app.screen
        answers = isinstance(before, QuestionDialog) and isinstance(self.app.focused, Button)
        agreed = answers and self.app.focused.id != "no" and key in {"enter", "space"}
        await self.pilot.press(key)
        await self._look(agreed=agreed, ended=key == "f9")

    async def _paste(self):
        text = self.rng.choice(PASTED)
        if self.rng.random() < 0.02:
            text = "".join(self.rng.choices(PASTED, k=20)) * 2000 + "x" * 1_000_000
        self._note(f"paste {text[:20]!r} of {len(text)}")
        self.pastes += 1
        self.app.post_message(events.Paste(text))
        await self.pilot.pause()
        await self._look()

    async def _resize(self):
        columns, rows = self.rng.choice(SIZES)
        if self.rng.random() < 0.3:
            columns, rows = self.rng.randint(1, 250), self.rng.randint(1, 70)
        self._note(f"size {columns}x{rows}")
        self.app.post_message(events.Resize(Size(columns, rows), Size(columns, rows)))
        await self.pilot.resize_terminal(columns, rows)
        await self._look()

    async def _touch(self):
        size = self.app.size
        at = self.rng.randrange(max(size.width, 1)), self.rng.randrange(max(size.height, 1))
        self._note(f"touch {at}")
        question = isinstance(self.app.screen, QuestionDialog)
        await self.pilot.click(offset=at)
        await self._look(agreed=question)

    async def _pump(self, readings):
        self._note(f"{readings} readings")
        for _ in range(readings):
            await self.bench.pump()
        await self.pilot.pause()
        await self._look()

    def _plug(self):
        # The load line stays in: the bench waits for its answers.
        self._note("balance out or in")
        ports = self.bench.ports
        if ports.balance_path.is_symlink():
            ports.unplug("balance")
        else:
            ports.replug("balance")

    def _note(self, what):
        self.last = [*self.last[-30:], what]

    async def _look(self, *, agreed=False, ended=False):
        """Hold the screen and the daemon to what is promised."""
        if self.app._exception is not None:
            raise AssertionError(self.last) from self.app._exception
        assert self.app.is_running, self.last
        await self._look_at_run(agreed=agreed, ended=ended)
        await self._look_at_draft()

    async def _look_at_run(self, *, agreed, ended):
        self.agreed += agreed
        before, self._run = self._run, self.bench.daemon.press.live_run
        if self._run not in {None, before}:
            self.started += 1
            assert self.started <= self.agreed, ("a run without its question", self.last)
        if before is not None and self._run is None and not ended:
            # By itself, and not as F9 or a command ends it.
            await self.bench.daemon.press.written()
            run = (await self.bench.ask(run_queries.RUN, run=before)).run
            assert "at the screen" not in run.reason or self.pressed["f9"], self.last

    async def _look_at_draft(self):
        screen = self.app.screen
        if not isinstance(screen, FormDialog) or screen._draft is None or not screen.is_mounted:
            self._form = None
            return
        texts = screen.texts
        if screen is not self._form:
            self._form = screen
            samples = len((await self.bench.ask(sample_methods.SAMPLES)).samples)
            if samples == self._samples and self._typed:
                self.forms += 1
                assert texts == self._typed, ("typed words are lost", self.last)
            self._samples = samples
        self._typed = texts
