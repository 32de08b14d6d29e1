"""At the balance: the live mass, what it is to fill, and the specimens with what is next."""

from collections.abc import Awaitable, Callable
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Footer

from ramphold.control import methods
from ramphold.control.methods import SpecimenDetail
from ramphold.errors import RampholdError
from ramphold_tui import formats, keys, weighing
from ramphold_tui.bench import Bench
from ramphold_tui.bindings import bindings
from ramphold_tui.link import Link
from ramphold_tui.screens.dialogs import ReasonDialog, SpecimenDialog, StartDialog
from ramphold_tui.screens.place import CAUTION, Place
from ramphold_tui.shown import Tone
from ramphold_tui.view import strip_view
from ramphold_tui.widgets import BigText, Rows, WordLine

__all__ = ["BalanceScreen"]

_MOST_SPECIMENS = 12
# Others weigh too, and the daemon does not tell of it.
_LOOK_AGAIN_S = 2.0


class BalanceScreen(Place):
    """The balance, and one key that keeps what it shows.

    Args:
        link: how the daemon is asked.
        operator: gives the initials of who works here, asking where they are not known.
    """

    HERE = keys.BALANCE
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(keys.BALANCE)]

    def __init__(self, link: Link, operator: Callable[[], Awaitable[str | None]]) -> None:
        super().__init__()
        self._link, self._operator = link, operator
        self._details: tuple[SpecimenDetail, ...] = ()
        self._chosen: int | None = None

    def compose(self) -> ComposeResult:
        """The press in one line, the balance, the specimens."""
        yield WordLine(classes="strip")
        with Vertical(id="balance"):
            yield WordLine("balance g", id="mass-name")
            yield BigText(id="mass")
            yield WordLine(id="fills")
        yield WordLine(weighing.HEADER, id="header")
        yield Rows(id="specimens")
        yield WordLine(CAUTION, id="said")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """See what there is to weigh, again and again while this is looked at."""
        self.set_interval(_LOOK_AGAIN_S, self._look_again)

    def on_screen_resume(self) -> None:
        """See what there is to weigh."""
        self._look_again()

    def show(self, bench: Bench, now_ns: int) -> None:
        """Say what is known now."""
        strip = self.query_one(".strip", WordLine)
        strip.left, strip.right, tone = strip_view(bench, now_ns)
        strip.set_tone(tone)
        age_s = None if bench.mass_ns is None else (now_ns - bench.mass_ns) / 1e9
        digits, state = weighing.balance_view(bench.mass, age_s)
        mass, name = self.query_one("#mass", BigText), self.query_one("#mass-name", WordLine)
        mass.text, name.right = (
            digits,
            "  ".join(part for part in (state.word, state.detail) if part),
        )
        mass.set_tone(state.tone)
        name.set_tone(state.tone)

    # --- keys ----------------------------------------------------------------------------------

    def action_choose(self, key: str) -> None:
        """Choose the specimen above or below."""
        numbers = [detail.specimen.id for detail in self._details]
        if self._chosen in numbers:
            place = numbers.index(self._chosen) + (1 if key == "down" else -1)
            self._chosen = numbers[max(0, min(place, len(numbers) - 1))]
            self._show_specimens()

    @on(Rows.Touched)
    def choose_row(self, event: Rows.Touched) -> None:
        """Choose the specimen that was touched."""
        self._chosen = self._details[event.row].specimen.id
        self._show_specimens()

    @work(exclusive=True, group="asking")
    async def action_capture(self) -> None:
        """Keep the mass on the balance as what is to be weighed next."""
        detail = self._detail()
        what = weighing.next_weighing(detail) if detail else None
        if detail is None or what is None:
            step = weighing.to_do(detail) if detail else "record a specimen first (F7)"
            self.say(f"nothing to weigh now: {step}", Tone.CAUTION)
            return
        if (operator := await self._operator()) is None:
            return
        wanted = methods.CaptureMass(specimen=detail.specimen.id, what=what, operator=operator)
        try:
            mass = await self._link.ask(methods.CAPTURE_MASS, wanted)
        except RampholdError as error:
            self.say(f"not kept: {error}", Tone.CAUTION)
            return
        name = weighing.NAMES[what]
        self.say(f"kept: {formats.mass(mass.mass_g)} g as the {name} of {detail.specimen.label}")
        await self._read()

    @work(exclusive=True, group="asking")
    async def action_correct(self) -> None:
        """Replace the last mass of the chosen specimen by what stands on the balance."""
        detail = self._detail()
        mass = weighing.last_mass(detail) if detail else None
        if detail is None or mass is None:
            self.say("nothing to correct: this specimen has no mass yet", Tone.CAUTION)
            return
        if (operator := await self._operator()) is None:
            return
        name = weighing.NAMES[mass.what]
        about = (
            f"Replace the {name} of {detail.specimen.label}, {formats.mass(mass.mass_g)} g, "
            "by what stands on the balance now; the old one is kept beside it"
        )
        reason = await self.app.push_screen_wait(ReasonDialog(about))
        if reason is None:
            return
        wanted = methods.CorrectMass(mass=mass.id, operator=operator, reason=reason)
        try:
            new = await self._link.ask(methods.CORRECT_MASS, wanted)
        except RampholdError as error:
            self.say(f"not corrected: {error}", Tone.CAUTION)
            return
        self.say(f"corrected: the {name} is {formats.mass(new.mass_g)} g")
        await self._read()

    @work(exclusive=True, group="asking")
    async def action_start_run(self) -> None:
        """Follow the crush of the chosen specimen, once the operator confirmed it."""
        detail = self._detail()
        if detail is None or (operator := await self._operator()) is None:
            return
        step = weighing.to_do(detail)
        warning = "" if step == weighing.START_RUN else f"its next step would be: {step}"
        if not await self.app.push_screen_wait(StartDialog(detail, warning)):
            return
        wanted = methods.StartRun(specimen=detail.specimen.id, operator=operator)
        try:
            started = await self._link.ask(methods.START_RUN, wanted)
        except RampholdError as error:
            self.say(f"not started: {error}", Tone.CAUTION)
            return
        self.say(f"run {started.run} is being followed: F2 shows the press")
        await self._read()

    @work(exclusive=True, group="asking")
    async def action_add_specimen(self) -> None:
        """Record a specimen."""
        if (operator := await self._operator()) is None:
            return
        wanted = await self.app.push_screen_wait(SpecimenDialog(operator))
        if wanted is None:
            return
        try:
            specimen = await self._link.ask(methods.ADD_SPECIMEN, wanted)
        except RampholdError as error:
            self.say(f"not recorded: {error}", Tone.CAUTION)
            return
        self._chosen = specimen.id
        self.say(f"recorded: {specimen.label} at {formats.psi(specimen.target_psi)}")
        await self._read()

    # --- specimens -----------------------------------------------------------------------------

    def _look_again(self) -> None:
        if self.is_current:
            self.run_worker(self._read(), exclusive=True, group="reading")

    async def _read(self) -> None:
        ask = self._link.ask
        try:
            page = methods.Page(limit=_MOST_SPECIMENS)
            specimens = (await ask(methods.SPECIMENS, page)).specimens
            self._details = tuple(
                [await ask(methods.SPECIMEN, methods.ById(id=one.id)) for one in specimens]
            )
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        if self._chosen not in [detail.specimen.id for detail in self._details]:
            self._chosen = self._first_to_do()
        self._show_specimens()

    def _first_to_do(self) -> int | None:
        """The oldest specimen that is not done, else the newest."""
        numbers = [one.specimen.id for one in self._details if one.fines_pct is None]
        return min(numbers, default=self._details[0].specimen.id if self._details else None)

    def _detail(self) -> SpecimenDetail | None:
        chosen = (one for one in self._details if one.specimen.id == self._chosen)
        return next(chosen, None)

    def _show_specimens(self) -> None:
        rows = self.query_one(Rows)
        rows.rows = tuple(weighing.row(detail) for detail in self._details)
        numbers = [detail.specimen.id for detail in self._details]
        rows.chosen = numbers.index(self._chosen) if self._chosen in numbers else None
        detail = self._detail()
        fills = "no specimen yet: F7 records one"
        if detail is not None:
            what = weighing.next_weighing(detail)
            fills = f"next: {weighing.to_do(detail)} of {detail.specimen.label}"
            if what is not None:
                fills = f"Enter keeps it as the {weighing.NAMES[what]} of {detail.specimen.label}"
        self.query_one("#fills", WordLine).left = fills
