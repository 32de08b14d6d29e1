"""The trial of a press by a person, guided by prompts."""

import asyncio
from typing import Protocol

import click

from ramphold.cli._instrument_access import InstrumentAccess
from ramphold.control.instrument_methods import READINGS, ReadingsParams
from ramphold.core import Medium, StepKind, TrialStep
from ramphold.errors import InputError
from ramphold.method import cell

__all__ = ["Loads", "Person", "Trier"]

#: Raw loads as (time in ns, stress in psi).
Loads = list[tuple[int, float]]

_FULL = {1.0: "full", 0.5: "half", 0.25: "quarter", 0.125: "1/8", 0.0625: "1/16"}
_BETWEEN_S = 5.0
_SEAT_PSI = 200.0


class Trier(Protocol):
    """Carries out the steps of the trial."""

    async def prepare(self, medium: Medium) -> None:
        """Put a medium under the piston, and close the press until it touches."""

    async def do(self, step: TrialStep) -> Loads:
        """Carry out a step; returns the loads read during it."""

    async def release(self) -> None:
        """Open the valve."""


class Person:
    """A person at the press, guided by prompts.

    Args:
        here: the instruments.
        bore_in: bore of the cell, for the stress.
        limit_psi: stress to stay below.
    """

    def __init__(self, here: InstrumentAccess, bore_in: float, limit_psi: float) -> None:
        self._here = here
        self._bore_in = bore_in
        self._limit_psi = limit_psi

    async def prepare(self, medium: Medium) -> None:
        """As `Trier.prepare`."""
        what = {
            Medium.DISC: "put the steel disc under the piston, without sand",
            Medium.SAND: "put a levelled cell of sand under the piston",
        }[medium]
        limit_lbf = cell.force_lbf(self._limit_psi, self._bore_in)
        self._asked(f"{what}; close and pump to about {_SEAT_PSI:.0f} psi; lever up; then Enter")
        click.echo(f"  stop whatever is asked when the load nears {limit_lbf:.0f} lbf", err=True)

    async def do(self, step: TrialStep) -> Loads:
        """As `Trier.do`.

        Raises:
            InputError: the load gave too few forces, or exceeded the limit.
        """
        # Readings from before the prompt must arrive first.
        await asyncio.sleep(0.2)
        wanted = ReadingsParams(instrument="load", limit=1)
        newest = (await self._here.ask(READINGS, wanted)).readings
        click.echo(f"  {_told(step)}", err=True)
        self._asked("  press Enter when it is done")
        await asyncio.sleep(0.2)
        after_ns = newest[-1].t_ns if newest else 0
        found = await self._here.ask(READINGS, ReadingsParams(instrument="load", after_ns=after_ns))
        loads = [
            (row.t_ns, cell.stress_psi(row.value, self._bore_in))
            for row in found.readings
            if row.value is not None
        ]
        if not loads:
            raise InputError("the load gives no force: `ramphold check` says why")
        middle = sorted(psi for _, psi in loads[-9:])[len(loads[-9:]) // 2]
        if middle > self._limit_psi:
            raise InputError(
                f"the load reached {middle:.0f} psi, over {self._limit_psi:.0f}: release it, "
                "and begin again with a smaller --limit"
            )
        return loads

    async def release(self) -> None:
        """As `Trier.release`."""
        self._asked("open the valve and take everything out; then Enter")

    @staticmethod
    def _asked(text: str) -> None:
        click.prompt(text, default="", show_default=False, err=True)


def _told(step: TrialStep) -> str:
    match step.kind:
        case StepKind.STROKES:
            word = _FULL.get(step.size, f"{step.size:g}")
            return (
                f"make {step.count} {word} strokes, {_BETWEEN_S:.0f} s apart, "
                "the lever back up after each"
            )
        case StepKind.PULL:
            return f"pull slowly and evenly for {step.seconds:.0f} s, as slowly as you can"
        case StepKind.REST:
            return f"hands off for {step.seconds:.0f} s"
