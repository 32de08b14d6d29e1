"""The samples as they were read, and the one that is worked on."""

from collections.abc import Awaitable, Callable
from typing import TypeVar

from msgspec import Struct

from ramphold.control import act, sample_methods
from ramphold.control.act import Method
from ramphold.control.people_methods import PEOPLE
from ramphold.control.sample_methods import SampleLine, SampleSheet
from ramphold.sample import SampleState, WeighingPlace
from ramphold_tui.link import DaemonLink
from ramphold_tui.view.worksheet_parts import (
    WorksheetPart,
    first_to_do,
    key_of_specimen,
    worksheet_parts,
)

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

_MOST_SAMPLES = 40


class Workspace:
    """What the places share: the samples, the sample that is worked on, and its chosen part.

    Args:
        link: how the daemon is asked.
        operator: gives the initials of the operator, and asks for them if need be.

    Attributes:
        samples: newest first.
        sheet: all of the chosen sample; None until one was read.
        parts: its parts.
        key: key of the chosen part.
        draft, receipt_draft: what was typed of a new sample that was not received yet.
        people_sign: whether people sign at the bench with keys of their own.
    """

    def __init__(self, link: DaemonLink, operator: Callable[[], Awaitable[str | None]]) -> None:
        self.operator = operator
        self.samples: tuple[SampleLine, ...] = ()
        self.sheet: SampleSheet | None = None
        self.parts: tuple[WorksheetPart, ...] = ()
        self.key: str | None = None
        self.draft: dict[str, str] = {}
        self.receipt_draft: dict[str, str] = {}
        self.people_sign = False
        self._sample: int | None = None
        self._wanted: int | None = None
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
    def part(self) -> WorksheetPart | None:
        """The chosen part."""
        return next((part for part in self.parts if part.key == self.key), None)

    @property
    def place(self) -> WeighingPlace | None:
        """What is to be weighed next of the chosen part."""
        return self.part.step.place if self.part is not None and self.part.step else None

    async def ask(self, method: Method[P, R], params: P) -> R:
        """Ask the daemon for something; raises as `DaemonLink.ask`."""
        return await self._link.ask(method, params)

    async def read(self) -> None:
        """Read the samples, and the chosen one; raises as `DaemonLink.ask`."""
        page = act.PageParams(limit=_MOST_SAMPLES)
        self.samples = (await self.ask(sample_methods.SAMPLES, page)).samples
        # Read with the samples, so that no dialog is waited for.
        self.people_sign = bool((await self.ask(PEOPLE, act.NoParams())).people)
        wanted, self._wanted = self._wanted, None
        if wanted is not None:
            await self._choose_specimen(wanted)
        if self._sample is None:
            self._sample = self._newest_to_do()
        if self._sample is not None:
            await self._read_sheet(self._sample)

    async def read_sheets(self) -> dict[int, SampleSheet]:
        """Each sample that is not reported yet, by its number; raises as `DaemonLink.ask`."""
        numbers = [
            line.sample.sample
            for line in self.samples
            if line.state is not SampleState.REPORTED and line.sample.sample is not None
        ]
        return {number: await self._sheet_of(number) for number in numbers}

    async def choose_sample(self, number: int) -> None:
        """Work on another sample, from its first step on; raises as `DaemonLink.ask`."""
        self._sample, self.key = number, None
        await self._read_sheet(number)

    def lead_to(self, specimen: int) -> None:
        """Choose a specimen with its sample, once the samples are read again."""
        self._wanted = specimen

    @property
    def leads(self) -> bool:
        """Whether it has to be read, to choose a specimen."""
        return self._wanted is not None

    def choose_next(self) -> None:
        """Choose the next part that has a step, if the chosen one has none."""
        if self.part is not None and self.part.step is None:
            place = self.parts.index(self.part)
            self.key = first_to_do((*self.parts[place:], *self.parts[:place]))

    async def _choose_specimen(self, wanted: int) -> None:
        for number, sheet in (await self.read_sheets()).items():
            if any(one.number == wanted for one in sheet.record.specimens):
                self._sample, self.key = number, key_of_specimen(wanted)

    async def _read_sheet(self, number: int) -> None:
        self.sheet = await self._sheet_of(number)
        self.parts = worksheet_parts(self.sheet)
        if self.part is None:
            self.key = first_to_do(self.parts)

    async def _sheet_of(self, number: int) -> SampleSheet:
        return await self.ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=number))

    def _newest_to_do(self) -> int | None:
        wanted = [line for line in self.samples if line.state is not SampleState.REPORTED]
        numbers = [line.sample.sample for line in [*wanted, *self.samples]]
        return numbers[0] if numbers else None
