"""What all places but the press have in common: they show records, and read them anew.

The daemon does everything, and confirms or refuses it. The screen repeats the daemon's own words.
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

from msgspec import Struct
from textual import on
from textual.app import ComposeResult
from textual.events import ScreenResume

from ramphold.control.act import Method
from ramphold.errors import RampholdError
from ramphold_tui.screens.choice_dialog import ChoiceDialog
from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.screens.search_dialog import SearchDialog
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.form_fields import InputForm
from ramphold_tui.widgets import PressStrip, Rows
from ramphold_tui.workspace import Workspace

P = TypeVar("P", bound=Struct)
R = TypeVar("R")
T = TypeVar("T")


class RecordScreen(PlaceScreen):
    """A place that shows records of the daemon, with the press in one line on top.

    Args:
        workspace: how the daemon is asked, and what was read of the samples.
    """

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace
        self._read_at: int | None = None

    def compose(self) -> ComposeResult:
        """The press, then the place itself."""
        yield PressStrip()
        yield from super().compose()

    def show_always(self, bench: BenchState, now_ns: int) -> None:
        """Read again if a record was added since, or another specimen is to be chosen."""
        super().show_always(bench, now_ns)
        due = self._read_at != bench.records_version or self.workspace.leads
        if self.is_current and bench.lost is None and due:
            self._read_at = bench.records_version
            self.read_again()

    # --- rows ----------------------------------------------------------------------------------

    def action_choose(self, key: str) -> None:
        """Choose the row above or below."""
        self.choose(self.query_one(Rows).place + (1 if key == "down" else -1))

    @on(Rows.Touched)
    def touch(self, event: Rows.Touched) -> None:
        """Choose the touched row; a second touch does what Enter does."""
        again = event.row == self.query_one(Rows).chosen
        self.choose(event.row)
        if again:
            self.touched_again()

    async def find(self) -> None:
        """Find a row by a few letters of it, and choose it."""
        if not self.query(Rows):
            await super().find()
            return
        options = self.query_one(Rows).rows
        taken = await self.app.push_screen_wait(SearchDialog("Find in the list", options))
        if taken is not None:
            self.choose(taken)

    def choose(self, row: int) -> None:
        """Choose a row, or the nearest one that there is."""
        self.query_one(Rows).choose(row)

    def touched_again(self) -> None:
        """The chosen row was touched."""

    # --- records -------------------------------------------------------------------------------

    @on(ScreenResume)
    def show_records(self) -> None:
        """Show what was read last, unless the screen has no widgets yet or is losing them."""
        if self.is_whole:
            self.draw_records()

    def draw_records(self) -> None:
        """Show what was read last."""
        raise NotImplementedError

    async def fetch(self) -> None:
        """Read what is shown; raises as `DaemonLink.ask`."""
        raise NotImplementedError

    async def read(self) -> None:
        """Read what is shown, and show it."""
        try:
            await self.fetch()
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        self.show_records()

    def read_again(self) -> None:
        """Begin to read, and give up a reading that is under way."""
        self.run_worker(self.read(), exclusive=True, group="reading")

    async def do(self, method: Method[P, R], params: P, refused: str = "not done") -> R | None:
        """Have the daemon do something; None if it refuses, and the reason is shown."""
        try:
            done = await self.workspace.ask(method, params)
        except RampholdError as error:
            self.say(f"{refused}: {error}", Tone.CAUTION)
            return None
        await self.read()
        return done

    async def do_signed(
        self,
        method: Method[P, R],
        form: InputForm[T],
        params: Callable[[T], P],
        refused: str = "not done",
    ) -> R | None:
        """Have a person sign something; None if the dialog is left.

        A refusal, such as of a wrong PIN, is shown in the dialog, and only the PIN is typed again.
        """
        texts: dict[str, str] = {}
        why = ""
        while (typed := await self.fill_in(form.filled(texts), texts, why)) is not None:
            try:
                done = await self.workspace.ask(method, params(typed))
            except RampholdError as error:
                why = str(error)
                continue
            await self.read()
            return done
        self.say(refused)
        return None

    # --- questions -----------------------------------------------------------------------------

    async def fill_in(
        self, form: InputForm[T], draft: dict[str, str] | None = None, refused: str = ""
    ) -> T | None:
        """Have the operator fill in a form; None if it is left. Arguments as of `FormDialog`."""
        return await self.app.push_screen_wait(FormDialog(form, draft, refused))

    async def pick(self, title: str, options: Sequence[str]) -> int | None:
        """Have the operator choose one of several; gives its place, None if it is left."""
        return await self.app.push_screen_wait(ChoiceDialog(title, options))
