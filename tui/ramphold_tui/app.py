"""The application: what it knows, when it paints, and which place it shows."""

import contextlib
import os
import sys
from pathlib import Path
from typing import ClassVar

from msgspec import structs
from textual import on, work
from textual.binding import BindingType

from ramphold.clock import NS_PER_S, Clock, SystemClock
from ramphold.control import act, run_methods, run_queries, shaker_methods
from ramphold.errors import RampholdError
from ramphold_tui.alarms import Alarms
from ramphold_tui.bindings import bindings
from ramphold_tui.link import DaemonLink
from ramphold_tui.lost_terminal import end_with_terminal
from ramphold_tui.messages import ScreenShown
from ramphold_tui.paint_times import PaintTimes
from ramphold_tui.picture import picture
from ramphold_tui.screens import (
    BalanceScreen,
    Dialog,
    FormDialog,
    HelpScreen,
    InstrumentsScreen,
    PlaceScreen,
    PressScreen,
    ResultsScreen,
    SamplesScreen,
    TimersScreen,
    WorksheetScreen,
)
from ramphold_tui.screens.search_dialog import SearchDialog
from ramphold_tui.settings import ScreenSettings, settings_file
from ramphold_tui.sound_player import SoundPlayer
from ramphold_tui.theme import COLOURS, SIXTEEN, theme_for
from ramphold_tui.view import keys
from ramphold_tui.view.bench_state import BenchState, Heard, LinkUp
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import initials_form
from ramphold_tui.view.glyphs import marks_for
from ramphold_tui.view.load_history import LoadHistory
from ramphold_tui.view.press_alarms import end_words
from ramphold_tui.visible_filter import PlainApp
from ramphold_tui.widgets import PressStrip
from ramphold_tui.widgets.drawn import Drawn
from ramphold_tui.workspace import Workspace

# Narrow and low is 80x24.
_WIDTHS = [(0, "-narrow"), (110, "-wide")]
_HEIGHTS = [(0, "-low"), (28, "-high"), (38, "-tall")]


class RampholdApp(PlainApp, inherit_bindings=False):
    """The screen beside the press. It may be closed, killed or disconnected at any moment."""

    CSS_PATH = "app.tcss"
    TITLE = "Ramphold"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(keys.EVERYWHERE),
        *bindings(keys.OUTSIDE_TEXT),
    ]

    def __init__(self, socket_path: Path, clock: Clock) -> None:
        # Without colour, Textual still draws greys unless it uses the terminal's own colours.
        super().__init__(ansi_color=True if "NO_COLOR" in os.environ else None)
        self.HORIZONTAL_BREAKPOINTS, self.VERTICAL_BREAKPOINTS = _WIDTHS, _HEIGHTS
        self.bench = BenchState()
        self.initials: str | None = None
        self._link = DaemonLink(socket_path, self.take_in)
        self._workspace = Workspace(self._link, self.operator)
        self._history = LoadHistory()
        self._crushed: int | None = None  # the specimen whose run has ended last
        self._clock = clock
        self._paint_times = PaintTimes(self, clock, self._paint)
        self._settings = ScreenSettings.read(settings_file())
        self._player = SoundPlayer(self.bell)
        self._player.on = self._settings.sounds
        self._alarms = Alarms(self._player)
        #: Each place by the name that its key uses.
        self.places: dict[str, PlaceScreen] = {}

    def on_mount(self) -> None:
        """Start the link, and paint."""
        if not self.is_headless:
            end_with_terminal()
        self._use_colours()
        self.places = self._places()
        for name, place in self.places.items():
            self.install_screen(place, name)
        self.push_screen("press")
        self.run_worker(self._link.run(), name="link")
        self._paint_times.start()

    async def on_unmount(self) -> None:
        """Leave no sound behind."""
        await self._player.aclose()

    def _places(self) -> dict[str, PlaceScreen]:
        """The places of this application."""
        return {
            "press": PressScreen(self._link, self._history),
            "balance": BalanceScreen(self._workspace),
            "worksheet": WorksheetScreen(self._workspace),
            "samples": SamplesScreen(self._workspace),
            "results": ResultsScreen(self._workspace),
            "instruments": InstrumentsScreen(self._workspace),
            "timers": TimersScreen(self._workspace),
        }

    def take_in(self, heard: Heard) -> None:
        """Take in what the daemon told, or what became of the link to it, and show it.

        The link calls it: as a message of Textual each reading would cost as much again.
        """
        before, was_running = self.bench.records_version, self.bench.running
        self.bench = self.bench.learn(heard, self._clock.now_ns())
        if was_running and not self.bench.running and self.bench.record is not None:
            self._crushed = self.bench.record.specimen
        for place in self.places.values():
            place.known = self.bench
        if self.bench.records_version != before:
            self._ask_for_sieves()
        if self.bench.live is not None:
            self._history.add(self.bench.live)
            if self._history.unseen is not None:
                self._fill_history(self._history.unseen)
        self._alarms.ring(self.bench, self._clock.now_ns())
        self._paint_times.add_news()
        if isinstance(heard, LinkUp):
            status = heard.status
            for number in status.interrupted:
                self._say(
                    f"run {number} was interrupted: all but its last second is kept; W: next step"
                )
            if status.run is not None and status.run == status.taken_up:
                self._say(f"run {status.run} goes on after a restart: the gap will be judged")

    @work(exclusive=True, group="sieves")
    async def _ask_for_sieves(self) -> None:
        """Ask what is on the shaker, since any record may have changed it."""
        with contextlib.suppress(RampholdError):  # the link says so itself
            found = await self._link.ask(shaker_methods.SHAKINGS, act.NoParams())
            self.take_in(found)

    @on(ScreenShown)
    def paint_shown(self) -> None:
        """Paint a screen that has just come into sight."""
        self._paint_times.paint_soon()

    @work(exclusive=True, group="history")
    async def _fill_history(self, run: int) -> None:
        """Ask for the part of a run that passed before this screen was linked."""
        self._history.unseen = None
        # If the daemon cannot tell it, the trace begins here.
        with contextlib.suppress(RampholdError):
            wanted = run_queries.TraceParams(run=run)
            self._history.fill(await self._link.ask(run_queries.TRACE, wanted))

    # --- keys ----------------------------------------------------------------------------------

    def action_help(self) -> None:
        """Show all keys."""
        if not isinstance(self.screen, HelpScreen):
            places = (
                one.HERE for one in reversed(self.screen_stack) if isinstance(one, PlaceScreen)
            )
            self.push_screen(HelpScreen(next(places, keys.PRESS)))

    def action_go(self, name: str) -> None:
        """Go to a place, out of any dialog."""
        place = self.get_screen(name)
        if place is self.screen and isinstance(place, PlaceScreen):
            place.pressed_again()
            return
        if name == "worksheet" and self.screen is self.places["press"] and self._crushed:
            # Only from the press: nobody's worksheet moves on to another specimen under the hands.
            self._workspace.lead_to(self._crushed)
            self._crushed = None
        while isinstance(self.screen, Dialog):
            self.screen.dismiss(None)
        self.switch_screen(name)

    @work
    async def action_initials(self) -> None:
        """Ask who works here."""
        if not self.screen.is_modal:
            self.initials = await self._ask_initials() or self.initials

    @work
    async def action_acknowledge(self) -> None:
        """Acknowledge the warnings."""
        wanted = run_methods.AcknowledgeParams(operator=self._initials_or_dash())
        try:
            await self._link.ask(run_methods.ACKNOWLEDGE, wanted)
        except RampholdError as error:
            self._say(f"not acknowledged: {error}", Tone.CAUTION)

    @work
    async def action_end_record(self) -> None:
        """End the record of the live run at once; the press goes on."""
        operator = self._initials_or_dash()
        wanted = run_methods.EndRunParams(reason="ended at the screen", operator=operator)
        try:
            ended = await self._link.ask(run_methods.END_RUN, wanted)
        except RampholdError as error:
            self._say(f"not ended: {error}", Tone.CAUTION)
            return
        self._say(*end_words(ended))

    async def operator(self) -> str | None:
        """The operator's initials, asked for if they are unknown."""
        if self.initials is None:
            self.initials = await self._ask_initials()
        return self.initials

    async def _ask_initials(self) -> str | None:
        return await self.push_screen_wait(FormDialog(initials_form()))

    def _initials_or_dash(self) -> str:
        # Something urgent does not wait for initials.
        record = self.bench.record
        return self.initials or (record.operator if record else "-")

    @work(exclusive=True, group="chores")
    async def action_commands(self) -> None:
        """Find a command by a few letters of it, and do it."""
        if self.screen.is_modal:
            return
        here = self.screen.HERE if isinstance(self.screen, PlaceScreen) else keys.PRESS
        found = keys.commands(here)
        dialog = SearchDialog("Commands", [f"{one.name:<8}{one.about}" for one in found])
        taken = await self.push_screen_wait(dialog)
        if taken is not None:
            owner = "app" if found[taken].place != here else "screen"
            await self.run_action(f"{owner}.{found[taken].action}")

    @work(exclusive=True, group="chores")
    async def action_find(self) -> None:
        """Find a row of the list by a few letters of it."""
        if isinstance(self.screen, PlaceScreen):
            await self.screen.find()

    @work(exclusive=True, group="chores")
    async def action_copy(self) -> None:
        """Copy a value of this place to the clipboard of whoever looks at the terminal."""
        if not isinstance(place := self.screen, PlaceScreen):
            return
        values = place.values()
        taken = await self.push_screen_wait(SearchDialog("Copy which value?", values))
        if taken is not None:
            self.copy_to_clipboard(values[taken])
            self._say(f"copied, where the terminal allows it: {values[taken]}")

    def action_sounds(self) -> None:
        """Turn the sounds off, or on again."""
        self._remember(structs.replace(self._settings, sounds=not self._settings.sounds))
        self._player.on = self._settings.sounds
        if self._player.on:
            self._say(f"sounds are on, by {self._player.by}")
        else:
            self._player.stop()
            self._say("sounds are off, those of warnings too: B turns them on", Tone.CAUTION)

    def action_colours(self) -> None:
        """Change to the next colours, and remember them."""
        names = list(COLOURS)
        place = names.index(self._settings.colours) if self._settings.colours in names else 0
        self._remember(structs.replace(self._settings, colours=names[(place + 1) % len(names)]))
        self._use_colours()
        fixed = ", once the terminal has more than 16" if self.theme == SIXTEEN.name else ""
        self._say(f"colours: {self._settings.colours}{fixed}")

    def action_picture(self) -> None:
        """Write a picture of the screen to a file in the folder where the screen was started."""
        path = Path(f"ramphold-{self._clock.utc_ns() // NS_PER_S}.svg")
        try:
            path.write_text(picture(self), encoding="utf-8")
        except OSError as error:
            self._say(f"no picture: {path} can't be written: {error.strerror}", Tone.CAUTION)
        else:
            self._say(f"picture: {path.resolve()}")

    def _remember(self, settings: ScreenSettings) -> None:
        self._settings = settings
        try:
            settings.write(settings_file())
        except RampholdError as error:
            self._say(str(error), Tone.CAUTION)

    def _use_colours(self) -> None:
        system = None if self.no_color else self.console.color_system
        theme = theme_for(system, self._settings.colours)
        self.register_theme(theme)
        self.theme = theme.name

    # --- painting ------------------------------------------------------------------------------

    def _say(self, text: str, tone: Tone = Tone.ACT) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, PlaceScreen):
                screen.say(text, tone)

    def _paint(self, now_ns: int) -> None:
        self._alarms.sound(self.bench, now_ns)
        for screen in self.screen_stack:
            for one in screen.children:
                if isinstance(one, PressStrip):
                    one.show(self.bench, now_ns)
            if isinstance(screen, PlaceScreen) and screen.is_whole:
                screen.show(self.bench, now_ns)
                screen.show_always(self.bench, now_ns)


def use_marks_of_terminal() -> None:
    """Draw with what the terminal can show."""
    # Textual draws on stderr, so it is that stream's encoding that counts.
    stream = sys.__stderr__
    Drawn.marks = marks_for(os.environ.get("TERM", ""), stream.encoding if stream else "ascii")


def make_app(socket_path: Path, clock: Clock | None = None) -> RampholdApp:
    """The screen on the daemon that listens at `socket_path`; `run` or `run_async` shows it."""
    use_marks_of_terminal()
    return RampholdApp(socket_path, clock or SystemClock())
