"""What can be corrected of a part of a sample, the newest first."""

from collections.abc import Iterator

from msgspec import Struct

from ramphold.sample import CRUSH, MassTaken, SampleRecord, Tick, standing
from ramphold_tui.view import formats
from ramphold_tui.view.step_words import place_words
from ramphold_tui.view.worksheet_parts import WorksheetPart


class Correction(Struct, frozen=True, kw_only=True):
    """A mass to be replaced, or a tick to be taken back; `text` says which."""

    text: str
    mass: MassTaken | None = None
    tick: Tick | None = None


def corrections(record: SampleRecord, part: WorksheetPart) -> tuple[Correction, ...]:
    """The masses of a part, then its ticks."""
    return (*_masses(record, part), *_ticks(part))


def _masses(record: SampleRecord, part: WorksheetPart) -> Iterator[Correction]:
    one = part.specimen
    for mass in sorted(standing(record.masses).values(), key=lambda mass: -mass.record):
        of_part = mass.test == part.key != CRUSH if one is None else mass.specimen == one.number
        if of_part:
            what = f"{place_words(mass.place)}: {formats.mass(mass.mass_g)} g, by {mass.operator}"
            yield Correction(text=what, mass=mass)


def _ticks(part: WorksheetPart) -> Iterator[Correction]:
    if part.specimen is not None and part.specimen.run is None:
        for tick in reversed(part.specimen.ticks):
            yield Correction(text=f"not done after all: {tick}", tick=tick)
