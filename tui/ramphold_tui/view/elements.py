"""What a widget is given to show."""

from enum import StrEnum

from msgspec import Struct


class Tone(StrEnum):
    """How much something asks for attention; also the name of its style."""

    FADED = "faded"
    CALM = "calm"
    ACT = "act"
    CAUTION = "caution"
    ALARM = "alarm"


class Sound(StrEnum):
    """What is played so that the eyes may stay on the press; each has a pattern of its own."""

    FASTER = "faster"
    SLOWER = "slower"
    STOP = "stop"
    TOP_UP = "top up"
    HOLD_UP = "hold up"
    SIEVE_DONE = "sieve done"
    OVERLOAD = "overload"


class Banner(Struct, frozen=True, kw_only=True):
    """The biggest word on the screen, and a line that makes it precise.

    Attributes:
        word, detail: the word and the line.
        tone: how much they ask for attention.
        next: what comes after it.
        name: what the situation is called, which stays while a figure in the word changes.
        sound: what is played when a situation begins; None where nothing is.
        due_s: time in s until what the detail names; None if it is too far off to watch.
    """

    word: str
    detail: str
    tone: Tone = Tone.CALM
    due_s: float | None = None
    next: str = ""
    name: str = ""
    sound: Sound | None = None


class Meter(Struct, frozen=True, kw_only=True):
    """A bar that fills from 0 to 1, with words beside it; `brief` is for little room."""

    label: str
    share: float
    text: str
    brief: str
    tone: Tone = Tone.CALM

    @property
    def flag(self) -> str:
        """A mark before the words, so that colour alone does not tell the tone."""
        return {Tone.CAUTION: "! ", Tone.ALARM: "!! "}.get(self.tone, "")


class StyledLine(Struct, frozen=True):
    """A line of words, and how much it asks for attention."""

    text: str
    tone: Tone = Tone.CALM
