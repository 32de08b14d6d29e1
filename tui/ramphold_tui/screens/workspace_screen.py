"""What the list of samples, worksheet and balance have in common: they work on one sample."""

from msgspec import structs

from ramphold.control import sample_methods
from ramphold.errors import RampholdError
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view import keys
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sample_form import receipt_form, sample_form

_NOT_RECEIVED = "not received yet: what was typed is kept, {keys} goes on with it"


class WorkspaceScreen(RecordScreen):
    """A place that shows the workspace: the samples, and the one that is worked on."""

    def on_screen_resume(self) -> None:
        """Remind of a half-typed sample: what was said of it is forgotten once a place is left."""
        if (self.workspace.draft or self.workspace.receipt_draft) and self.is_quiet:
            self._say_not_received()

    async def fetch(self) -> None:
        """Read the samples and the chosen one."""
        await self.workspace.read()

    def _say_not_received(self) -> None:
        # With a sample open, F7 adds a specimen to it.
        here = self.workspace.sheet is None or self.HERE == keys.SAMPLES
        self.say(_NOT_RECEIVED.format(keys="F7" if here else "all samples (Esc), then F7"))

    async def add_sample(self) -> None:
        """Ask for a sample that came in, and open it."""
        work = self.workspace
        if (operator := await work.operator()) is None:
            return
        form = sample_form(operator, work.numbers).filled(work.draft)
        wanted = await self.fill_in(form, work.draft)
        receipt = None
        if wanted is not None:
            rest = receipt_form().filled(work.receipt_draft)
            receipt = await self.fill_in(rest, work.receipt_draft)
        if wanted is None or receipt is None:
            self._say_not_received()
            return
        whole = structs.replace(
            wanted,
            customer=receipt.customer,
            condition=receipt.condition,
            sampling=receipt.sampling,
        )
        received = await self.do(sample_methods.ADD_SAMPLE, whole, "not received")
        if received is not None and received.sample is not None:
            work.draft.clear()
            work.receipt_draft.clear()
            for what, value in receipt.room.items():
                entered = sample_methods.EnterValueParams(
                    sample=received.laboratory_number, what=what, value=value, operator=operator
                )
                await self.do(sample_methods.ENTER_VALUE, entered, f"{what} not recorded")
            await self.open_sample(received.sample)
            self.say(f"received: {received.laboratory_number}")

    async def open_sample(self, number: int) -> None:
        """Work on a sample."""
        try:
            await self.workspace.choose_sample(number)
        except RampholdError as error:
            self.say(f"not opened: {error}", Tone.CAUTION)
            return
        self.show_records()
