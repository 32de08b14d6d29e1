"""What all screens of the operator have in common."""

import re
from typing import ClassVar, TypeVar

from textual import work
from textual.app import ComposeResult
from textual.events import Resize
from textual.screen import Screen
from textual.timer import Timer
from textual.widget import Widget

from ramphold_tui.bindings import bindings
from ramphold_tui.messages import ScreenShown
from ramphold_tui.screens.dialog import mark_small
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sieve_timers import sieve_words
from ramphold_tui.view.trust_words import ALL_WELL, trust_words
from ramphold_tui.widgets import BigText, KeyBar, Rows, TextBlock, WordLine

T = TypeVar("T")

_CAUTION = "Observes only: no guard, no load limiter. Your local rules come first."
_CAUTION_BRIEF = "Observes only: no guard, no load limiter."
_SAID_S = 12.0


class PlaceScreen(Screen[None]):
    """A place where the operator works, with a line for answers and a line of keys.

    Widgets of the class `told`, or inside one, show what the daemon told. They turn grey while the
    link is down. A subclass names its `here`, as the table of keys calls it.

    Attributes:
        known: what the daemon has told. A key is answered by it: what was painted last is older.
    """

    #: What the table of keys calls the place.
    HERE: ClassVar[str] = ""

    known: BenchState = BenchState()
    _keys_simulated = _shows_lost = False
    _quiet_again: Timer | None = None
    _sieve_words = _trust_words = ""
    _parts: frozenset[Widget] | None = None

    def __init_subclass__(cls, *, here: str = "", **options: bool) -> None:
        if here:
            cls.HERE, cls.BINDINGS = here, [*bindings(here)]
        super().__init_subclass__(**options)

    def compose(self) -> ComposeResult:
        """The content, then the answers and the keys."""
        yield from self.content()
        yield WordLine(_CAUTION, id="said")
        yield KeyBar(self.HERE)

    def content(self) -> ComposeResult:
        """What stands above the answers."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """Know its widgets from now on."""
        self._parts = frozenset(self.children)

    @property
    def is_whole(self) -> bool:
        """Whether all its widgets are there: it has them, and is not losing them."""
        parts = self._parts
        return parts is not None and parts <= set(self.children) and self.app.is_running

    @property
    def simulated(self) -> bool:
        """Whether the bench is known to be a simulated one, which has keys of its own."""
        return self.known.status is not None and self.known.status.simulated

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show what is known now and is particular to this place."""

    def pressed_again(self) -> None:
        """Its own key was pressed while it is in sight."""

    def show_always(self, bench: BenchState, now_ns: int) -> None:
        """Show what every place shows: trust, the sieve timers, grey digits without a link."""
        self._sieve_words = sieve_words(bench.sieves, now_ns)
        self._trust_words = trust_words(bench)
        self._put_beside()
        lost = bench.lost is not None
        if lost != self._shows_lost:
            self._shows_lost = lost
            for widget in self.query(".told, .told Drawn"):
                widget.set_class(lost, "-lost")
        if self.simulated != self._keys_simulated:
            self._keys_simulated = self.simulated
            self.show_keys()

    def show_keys(self) -> None:
        """Show and take the keys that do something now, after that has changed."""
        self.refresh_bindings()
        self.query_one(KeyBar).refresh()

    def on_screen_resume(self) -> None:
        """Ask to be shown what is known now."""
        self.post_message(ScreenShown())

    def on_screen_suspend(self) -> None:
        """Forget what was said here: whoever comes back would read it as of now."""
        if isinstance(self.app.screen, PlaceScreen) and self.app.screen is not self:
            if self._quiet_again is not None:
                self._quiet_again.stop()
            self._put(_CAUTION, Tone.FADED)

    def on_resize(self, event: Resize) -> None:
        """Leave out what a small terminal has no room for."""
        mark_small(self, event.size)

    async def go_on(self, place: str, said: str = "") -> None:
        """Go to another place where there is one, and say there what was done."""
        if not self.app.is_screen_installed(place):
            return
        await self.app.switch_screen(place)
        there = self.app.screen
        if said and isinstance(there, PlaceScreen):
            there.say(said)

    @work(exclusive=True, group="asking")
    async def action_to_worksheet(self) -> None:
        """Go to the worksheet, which has the next step."""
        await self.go_on("worksheet")

    def values(self) -> tuple[str, ...]:
        """What can be copied: the large figures, the fields of the chosen row, then the lines."""
        found = [big.text for big in self.query(BigText) if big.display]
        for rows in self.query(Rows):
            if rows.chosen is not None:
                row = rows.rows[rows.chosen].strip()
                found += [row, *re.split(r" {2,}", row)]
        found += [line.text for block in self.query(TextBlock) for line in block.lines]
        return tuple(dict.fromkeys(one for one in found if one))

    async def find(self) -> None:
        """Find a row of the list."""
        self.say("there is no list here to find anything in")

    def say(self, text: str, tone: Tone = Tone.ACT) -> None:
        """Say for a while what was done, or why it was not."""
        self._put(text, tone)
        if self._quiet_again is not None:
            self._quiet_again.stop()
        self._quiet_again = self.set_timer(_SAID_S, lambda: self._put(_CAUTION, Tone.FADED))

    def _put(self, text: str, tone: Tone) -> None:
        if not self.is_whole:
            return
        line = self.query_one("#said", WordLine)
        line.left = text
        line.set_tone(tone)
        self._put_beside()

    @property
    def is_quiet(self) -> bool:
        """Whether its lowest line has only the caution, and nothing that was said."""
        return self.query_one("#said", WordLine).left in {_CAUTION, _CAUTION_BRIEF}

    def _put_beside(self) -> None:
        """Trust and timers beside the answer if there is room: no answer is cut for them."""
        line = self.query_one("#said", WordLine)
        quiet = self.is_quiet
        sieves = self._sieve_words
        # Who waits for a timer has no use for the word that all is well.
        trust = "" if sieves and self._trust_words == ALL_WELL else self._trust_words
        one = trust or sieves
        lefts = (_CAUTION, _CAUTION_BRIEF) if quiet else (line.left,)
        for right in ("   ".join(filter(None, (sieves, trust))), one):
            for left in lefts:
                if len(left) + len(right) < line.size.width:
                    line.left, line.right = left, right
                    return
        line.right = one if quiet else ""
