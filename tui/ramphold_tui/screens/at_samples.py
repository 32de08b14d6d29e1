"""What samples, worksheet and balance have in common: the sample that is worked on."""

from ramphold.control import sample_methods as samples
from ramphold.errors import RampholdError
from ramphold_tui.screens.at_desk import AtDesk
from ramphold_tui.screens.sample_dialogs import SampleDialog
from ramphold_tui.shown import Tone

__all__ = ["AtSamples"]


class AtSamples(AtDesk):
    """A place that shows what the desk holds of the samples."""

    async def fetch(self) -> None:
        """Ask for the samples and the chosen one."""
        await self.desk.read()

    async def add_sample(self) -> None:
        """Ask for a sample that came in, and open it."""
        if (operator := await self.desk.operator()) is None:
            return
        dialog = SampleDialog(operator, self.desk.numbers, self.desk.draft)
        if (wanted := await self.app.push_screen_wait(dialog)) is None:
            self.say("not received yet: what was typed is kept, F7 goes on with it")
            return
        received = await self.do(samples.ADD_SAMPLE, wanted, "not received")
        if received is not None and received.sample is not None:
            self.desk.draft.clear()
            await self.open_sample(received.sample)
            self.say(f"received: {received.laboratory_number}")

    async def open_sample(self, number: int) -> None:
        """Work on a sample."""
        try:
            await self.desk.choose_sample(number)
        except RampholdError as error:
            self.say(f"not opened: {error}", Tone.CAUTION)
            return
        self.show_lines()
