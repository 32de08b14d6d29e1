"""The messages inside the application."""

from textual.message import Message

from ramphold.control.instrument_methods import InstrumentsHealth
from ramphold.control.run_methods import Live
from ramphold.core import MassReading
from ramphold_tui.view.bench_state import Heard


class ScreenShown(Message):
    """A screen came into sight and wants to be shown what is known."""


class News(Message, bubble=False):
    """What the daemon told, or what became of the link to it."""

    def __init__(self, heard: Heard) -> None:
        super().__init__()
        self.heard = heard

    def can_replace(self, message: Message) -> bool:
        """Whether `message`, which waits behind this one, makes it obsolete.

        Only the newest load, mass and health count, so a slow screen does not fall behind.
        """
        return (
            isinstance(self.heard, Live | MassReading | InstrumentsHealth)
            and isinstance(message, News)
            and type(message.heard) is type(self.heard)
        )
