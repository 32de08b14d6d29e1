"""One row of the table of situations: where it fits, and what is said there."""

from msgspec import Struct

from ramphold_tui.view.elements import Sound, Tone
from ramphold_tui.view.situation import (
    Ask,
    Link,
    LoadLevel,
    PressSituation,
    Recording,
    RunOutcome,
    RunStage,
    Warned,
    WarnedStage,
)


class Row(Struct, frozen=True, kw_only=True):
    """One row: where it fits, and what is said there.

    Attributes:
        name: what the situation is called.
        word, sentence, next: the biggest word, the line under it, what comes after.
        tone: its colour.
        sound: what is played when the row begins.
        link, run, load, recording, warned, stage, outcome, ask, coarse: the values that it fits;
            empty where any does.
    """

    name: str
    word: str
    sentence: str
    next: str
    tone: Tone
    sound: Sound | None = None
    link: frozenset[Link] = frozenset()
    run: frozenset[RunStage] = frozenset()
    load: frozenset[LoadLevel] = frozenset()
    recording: frozenset[Recording] = frozenset()
    warned: frozenset[Warned] = frozenset()
    stage: frozenset[WarnedStage] = frozenset()
    outcome: frozenset[RunOutcome] = frozenset()
    ask: frozenset[Ask] = frozenset()
    coarse: frozenset[bool] = frozenset()

    def fits(self, now: PressSituation) -> bool:
        """Whether the row is about this situation."""
        return (
            (not self.link or now.link in self.link)
            and (not self.run or now.run in self.run)
            and (not self.load or now.load in self.load)
            and (not self.warned or now.warned in self.warned)
            and (not self.ask or now.ask in self.ask)
            and (not self.stage or now.stage in self.stage)
            and (not self.recording or now.recording in self.recording)
            and (not self.outcome or now.outcome in self.outcome)
            and (not self.coarse or now.coarse in self.coarse)
        )
