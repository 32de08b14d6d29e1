"""The daily checks that read the instrument, as commands made from their declarations."""

import statistics
from collections.abc import Callable

import click

from ramphold.cli._asking import Daemon, asks, by_option
from ramphold.cli._common import QuantityType
from ramphold.control import bench_methods
from ramphold.control.act import NoParams
from ramphold.control.bench_methods import ZERO_LOAD, ZeroLoadParams
from ramphold.control.instrument_methods import (
    INSTRUMENTS,
    READINGS,
    InstrumentName,
    ReadingRow,
    ReadingsParams,
)
from ramphold.core import MassState
from ramphold.errors import InputError
from ramphold.method.daily_check import DAILY_CHECKS, CheckReading, CheckVerdict, DailyCheck
from ramphold.sample import DailyCheckMade

__all__ = ["DAILY_COMMANDS"]

_NEWEST_S = 2.0
_MOST, _LEAST = 200, 3
#: A balance with a print key speaks once.
_FRESH_S = {"load": 1.0, "balance": 60.0}


def _command(check: DailyCheck) -> click.Command:
    """The command of `ramphold bench` that makes a check."""
    make = _zero(check) if check.reading is CheckReading.ZERO else _known(check)
    told = f"Check {check.about}.\n\nThe exit status is 1 if it failed."
    return click.command(check.command, help=told)(make)


def _zero(check: DailyCheck) -> Callable[..., None]:
    del check

    @click.option("--anyway", help="Why it is applied although it moved over its limit.")
    @by_option
    @asks
    def make(*, anyway: str | None, by: str, daemon: Daemon) -> None:
        _show(daemon, daemon.ask(ZERO_LOAD, ZeroLoadParams(operator=by, anyway=anyway)))

    return make


def _known(check: DailyCheck) -> Callable[..., None]:
    quantity = check.known
    kind = click.FLOAT if quantity is None else QuantityType(quantity)

    @click.argument("known", metavar=(quantity.name if quantity else "known").upper(), type=kind)
    @by_option
    @asks
    def make(*, known: float, by: str, daemon: Daemon) -> None:
        wanted = bench_methods.MakeDailyCheckParams(
            rule=check.name,
            measured=_measured(check, _newest(daemon, check.instrument)),
            expected=known,
            base=known,
            operator=by,
        )
        _show(daemon, daemon.ask(bench_methods.MAKE_DAILY_CHECK, wanted))

    return make


#: To be added to `ramphold bench`: a command for each check that the instrument is read for.
DAILY_COMMANDS = tuple(_command(check) for check in DAILY_CHECKS if check.reading is not None)


def _measured(check: DailyCheck, rows: list[ReadingRow]) -> float:
    """What the instrument reads, as the check wants it read.

    Raises:
        InputError: it does not read well enough.
    """
    if check.reading is CheckReading.STABLE:
        rows = rows[-1:]
        if not rows or rows[0].quality != MassState.STABLE:
            quantity = "value" if check.known is None else check.known.name
            raise InputError(
                f"the {check.instrument} shows no stable {quantity}: "
                f"expected the {check.base} on it, at rest"
            )
    values = [row.value for row in rows if row.value is not None]
    if len(values) < (1 if check.reading is CheckReading.STABLE else _LEAST):
        raise InputError(
            f"the {check.instrument} gives too few readings: `ramphold check` says why"
        )
    return statistics.median(values)


def _newest(daemon: Daemon, instrument: InstrumentName) -> list[ReadingRow]:
    """The readings of an instrument in its last two seconds.

    Raises:
        InputError: it is silent.
    """
    now = daemon.ask(INSTRUMENTS, NoParams()).instruments
    age_s = next((one.age_s for one in now if one.name == instrument), None)
    if age_s is None or age_s > _FRESH_S[instrument]:
        raise InputError(f"the {instrument} says nothing: `ramphold check` says why")
    found = daemon.ask(READINGS, ReadingsParams(instrument=instrument, limit=_MOST)).readings
    since_ns = found[-1].t_ns - _NEWEST_S * 1e9 if found else 0
    return [row for row in found if row.t_ns > since_ns]


def _show(daemon: Daemon, kept: DailyCheckMade) -> None:
    text = (
        f"{kept.rule}: {kept.verdict}, reads {kept.measured:.8g} where {kept.expected:.8g} was "
        f"expected, {kept.off_pct:+.3f} % off"
    )
    daemon.show(kept, text)
    raise SystemExit(1 if kept.verdict == CheckVerdict.FAILED else 0)
