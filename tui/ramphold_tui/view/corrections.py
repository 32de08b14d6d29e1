"""What of a part of a sample can be put right, the newest in front. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from ramphold.sample import CRUSH, MassTaken, SampleRecord, Tick, standing
from ramphold_tui.view import formats, weighing_words
from ramphold_tui.view.worksheet_parts import WorksheetPart

__all__ = ["Undoable", "masses_of", "undoables"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Undoable:
    """A mass that is replaced by another, or a tick that is taken back; `text` says which."""

    text: str
    mass: MassTaken | None = None
    tick: Tick | None = None


def masses_of(record: SampleRecord, line: WorksheetPart) -> list[MassTaken]:
    """The masses of a part that stand, newest first."""
    held = sorted(standing(record.masses).values(), key=lambda mass: -mass.record)
    if line.specimen is not None:
        return [mass for mass in held if mass.specimen == line.specimen.number]
    return [mass for mass in held if mass.test == line.key and mass.test != CRUSH]


def undoables(record: SampleRecord, line: WorksheetPart) -> tuple[Undoable, ...]:
    """The masses of a part, then its ticks."""
    return (*_masses(record, line), *_ticks(line))


def _masses(record: SampleRecord, line: WorksheetPart) -> Iterator[Undoable]:
    for mass in masses_of(record, line):
        what = (
            f"{weighing_words.words(mass.place)}: {formats.mass(mass.mass_g)} g, by {mass.operator}"
        )
        yield Undoable(text=what, mass=mass)


def _ticks(line: WorksheetPart) -> Iterator[Undoable]:
    if line.specimen is not None and line.specimen.run is None:
        for tick in reversed(line.specimen.ticks):
            yield Undoable(text=f"not seen to after all: {tick}", tick=tick)
