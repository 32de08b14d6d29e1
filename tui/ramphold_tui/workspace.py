"""The sample that is worked on, which worksheet and balance share."""

from collections.abc import Awaitable, Callable
from typing import TypeVar

from msgspec import Struct

from ramphold.control import act, sample_methods
from ramphold.control.act import Method
from ramphold.control.sample_methods import SampleLine, SampleSheet
from ramphold.sample import SampleState
from ramphold_tui.link import DaemonLink
from ramphold_tui.view import worksheet_parts
from ramphold_tui.view.worksheet_parts import WorksheetPart

__all__ = ["Workspace"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

_MOST_SAMPLES = 40


class Workspace:
    """What was read of the samples, and which part of which one is chosen.

    Args:
        link: how the daemon is asked.
        operator: gives the initials of who works here, asking where they are not known.

    Attributes:
        samples: newest first.
        sheet: the whole of the chosen sample; None before one was read.
        lines: its parts.
        key: key of the chosen part.
        draft: what was typed of a new sample that is not received yet.
    """

    def __init__(self, link: DaemonLink, operator: Callable[[], Awaitable[str | None]]) -> None:
        self.operator = operator
        self.samples: tuple[SampleLine, ...] = ()
        self.sheet: SampleSheet | None = None
        self.lines: tuple[WorksheetPart, ...] = ()
        self.key: str | None = None
        self.draft: dict[str, str] = {}
        self._sample: int | None = None
        self._link = link

    @property
    def sample(self) -> int | None:
        """Number of the chosen sample."""
        return self._sample

    @property
    def numbers(self) -> list[str]:
        """The laboratory numbers that samples have."""
        return [line.sample.laboratory_number for line in self.samples]

    @property
    def line(self) -> WorksheetPart | None:
        """The chosen part."""
        return next((line for line in self.lines if line.key == self.key), None)

    async def ask(self, method: Method[P, R], params: P) -> R:
        """Ask the daemon for something; raises as `DaemonLink.ask`."""
        return await self._link.ask(method, params)

    async def read(self) -> None:
        """Read the samples and the chosen one anew; raises as `DaemonLink.ask`."""
        page = act.PageParams(limit=_MOST_SAMPLES)
        self.samples = (await self.ask(sample_methods.SAMPLES, page)).samples
        if self._sample is None:
            self._sample = self._newest_to_do()
        if self._sample is not None:
            await self._read_sheet(self._sample)

    async def read_sheets(self) -> dict[int, SampleSheet]:
        """Each sample that goes on, by its number; raises as `DaemonLink.ask`."""
        numbers = [
            line.sample.sample
            for line in self.samples
            if line.state is not SampleState.REPORTED and line.sample.sample is not None
        ]
        return {number: await self._sheet_of(number) for number in numbers}

    async def choose_sample(self, number: int) -> None:
        """Work on another sample, from the first thing to do; raises as `DaemonLink.ask`."""
        self._sample, self.key = number, None
        await self._read_sheet(number)

    def step_to(self, place: int, among: tuple[WorksheetPart, ...] | None = None) -> None:
        """Choose the part so many places below the chosen one, among some or all."""
        keys = [line.key for line in (self.lines if among is None else among)]
        if self.key in keys:
            self.key = keys[max(0, min(keys.index(self.key) + place, len(keys) - 1))]
        elif keys:
            self.key = keys[0]

    def go_on(self) -> None:
        """Choose the next part with something to do, where nothing is left of the chosen one."""
        if self.line is not None and self.line.step is None:
            place = self.lines.index(self.line)
            self.key = worksheet_parts.first_to_do((*self.lines[place:], *self.lines[:place]))

    async def _read_sheet(self, number: int) -> None:
        self.sheet = await self._sheet_of(number)
        self.lines = worksheet_parts.lines(self.sheet)
        if self.line is None:
            self.key = worksheet_parts.first_to_do(self.lines)

    async def _sheet_of(self, number: int) -> SampleSheet:
        return await self.ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=number))

    def _newest_to_do(self) -> int | None:
        wanted = [line for line in self.samples if line.state is not SampleState.REPORTED]
        numbers = [line.sample.sample for line in [*wanted, *self.samples]]
        return numbers[0] if numbers else None
