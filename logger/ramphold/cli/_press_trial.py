"""The trial of a press: its steps, and a person who carries them out."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from typing import Protocol

import click

from ramphold.control.instrument_methods import Readings, ReadingsParams
from ramphold.core import TRIAL, Medium, PressTrial, StepKind, TrialStep, judge_trial
from ramphold.errors import InputError
from ramphold.method import cell

_FULL = {1.0: "full", 0.5: "half", 0.25: "quarter", 0.125: "1/8", 0.0625: "1/16"}
_BETWEEN_S = 5.0
_SEAT_PSI = 200.0
#: Time for readings to arrive, in s.
_ARRIVAL_S = 0.2
_MEDIAN_OF = 9

_Loads = Sequence[tuple[int, float]]


class Trier(Protocol):
    """Carries out the steps of the trial."""

    async def prepare(self, medium: Medium) -> None:
        """Put a medium under the piston, and close the press until it touches."""

    async def act(self, step: TrialStep) -> None:
        """Carry out a step; all its readings have arrived when it returns."""

    async def release(self) -> None:
        """Open the valve."""


async def try_press(
    trier: Trier,
    readings: Callable[[ReadingsParams], Awaitable[Readings]],
    bore_in: float,
    limit_psi: float,
) -> PressTrial:
    """Carry out the trial, and judge it.

    Args:
        trier: carries out the steps.
        readings: gives readings of the load.
        bore_in: bore of the cell, for the stress.
        limit_psi: stress to stay below.

    Raises:
        InputError: the load gave no force, or exceeded the limit.
    """
    seen: list[tuple[TrialStep, _Loads]] = []
    for medium in dict.fromkeys(step.medium for step in TRIAL):
        await trier.prepare(medium)
        for step in (one for one in TRIAL if one.medium is medium):
            newest = (await readings(ReadingsParams(instrument="load", limit=1))).readings
            await trier.act(step)
            after_ns = newest[-1].t_ns if newest else 0
            found = await readings(ReadingsParams(instrument="load", after_ns=after_ns))
            loads = [
                (row.t_ns, cell.stress_psi(row.value, bore_in))
                for row in found.readings
                if row.value is not None
            ]
            _check(loads, limit_psi)
            seen.append((step, loads))
        await trier.release()
    return judge_trial(seen)


def _check(loads: _Loads, limit_psi: float) -> None:
    if not loads:
        raise InputError("the load gives no force: `ramphold check` says why")
    last = sorted(psi for _, psi in loads[-_MEDIAN_OF:])
    if (middle := last[len(last) // 2]) > limit_psi:
        raise InputError(
            f"the load reached {middle:.0f} psi, over {limit_psi:.0f}: release it, "
            "and begin again with a smaller --limit"
        )


class Person:
    """A person at the press, guided by prompts.

    Args:
        bore_in: bore of the cell.
        limit_psi: stress to stay below.
    """

    def __init__(self, bore_in: float, limit_psi: float) -> None:
        self._limit_lbf = cell.force_lbf(limit_psi, bore_in)

    async def prepare(self, medium: Medium) -> None:
        """As `Trier.prepare`."""
        what = {
            Medium.DISC: "put the steel disc under the piston, without sand",
            Medium.SAND: "put a levelled cell of sand under the piston",
        }[medium]
        _prompt(f"{what}; close and pump to about {_SEAT_PSI:.0f} psi; lever up; then Enter")
        click.echo(
            f"  stop whatever is asked when the load nears {self._limit_lbf:.0f} lbf", err=True
        )
        await asyncio.sleep(_ARRIVAL_S)

    async def act(self, step: TrialStep) -> None:
        """As `Trier.act`."""
        click.echo(f"  {_instruction(step)}", err=True)
        _prompt("  press Enter when it is done")
        await asyncio.sleep(_ARRIVAL_S)

    async def release(self) -> None:
        """As `Trier.release`."""
        _prompt("open the valve and take everything out; then Enter")


def _prompt(text: str) -> None:
    click.prompt(text, default="", show_default=False, err=True)


def _instruction(step: TrialStep) -> str:
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
