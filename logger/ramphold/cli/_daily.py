"""The daily checks that read the instrument, as commands made from their declarations."""

import statistics

import click

from ramphold.cli._common import QuantityType
from ramphold.cli._daemon_client import DaemonClient, by_option, with_daemon
from ramphold.cli._method_command import method_command
from ramphold.control.act import NoParams
from ramphold.control.bench_methods import MAKE_DAILY_CHECK, ZERO_LOAD, MakeDailyCheckParams
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

_NEWEST_S = 2.0
_MOST, _LEAST = 200, 3
#: A balance with a print key speaks once.
_FRESH_S = {"load": 1.0, "balance": 60.0}


def _command(check: DailyCheck) -> click.Command:
    """The command of `ramphold bench` that makes a check."""
    about = f"Check {check.about}.\n\nThe exit status is 1 if it failed."
    if check.reading is CheckReading.ZERO:
        return method_command(ZERO_LOAD, check.command, text=_line, failed=_has_failed, about=about)
    quantity = check.known
    kind = click.FLOAT if quantity is None else QuantityType(quantity)

    @click.command(check.command, help=about)
    @click.argument("known", metavar=(quantity.name if quantity else "known").upper(), type=kind)
    @by_option
    @with_daemon
    def make(*, known: float, by: str, daemon: DaemonClient) -> None:
        params = MakeDailyCheckParams(
            rule=check.name,
            measured=_measured(check, _newest(daemon, check.instrument)),
            expected=known,
            operator=by,
        )
        kept = daemon.ask(MAKE_DAILY_CHECK, params)
        daemon.show(kept, _line(kept))
        raise SystemExit(1 if _has_failed(kept) else 0)

    return make


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


def _newest(daemon: DaemonClient, instrument: InstrumentName) -> list[ReadingRow]:
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


def _line(kept: DailyCheckMade) -> str:
    return (
        f"{kept.rule}: {kept.verdict}, reads {kept.measured:.8g} where {kept.expected:.8g} was "
        f"expected, {kept.off_pct:+.3f} % off"
    )


def _has_failed(kept: DailyCheckMade) -> bool:
    return kept.verdict == CheckVerdict.FAILED


#: The commands of `ramphold bench` for the checks that read the instrument.
DAILY_COMMANDS = tuple(_command(check) for check in DAILY_CHECKS if check.reading is not None)
