"""Daily checks that read the instrument themselves: zero, known load, check weight."""

import statistics

import click

from ramphold import units
from ramphold.cli._asking import Daemon, asks, by_option
from ramphold.cli._common import QuantityType
from ramphold.control import sample_methods as samples
from ramphold.control.bench_methods import (
    INSTRUMENTS,
    READINGS,
    ZERO_LOAD,
    ReadingRow,
    ReadingsWanted,
    Which,
    ZeroWanted,
)
from ramphold.control.methods import NoParams
from ramphold.core import MassState
from ramphold.errors import InputError
from ramphold.method import daily_check
from ramphold.sample import DailyCheckMade

__all__ = ["DAILY_COMMANDS"]

_NEWEST_S = 2.0
_MOST, _LEAST = 200, 3
#: A balance with a print key speaks once.
_FRESH_S = {"load": 1.0, "balance": 60.0}


@click.command("zero")
@click.option("--anyway", help="Why it is counted from although it moved over its limit.")
@by_option
@asks
def zero(*, anyway: str | None, by: str, daemon: Daemon) -> None:
    """Check the zero of the load, with nothing on it, and count from it.

    Exit status 1 where it failed.
    """
    _told(daemon, daemon.ask(ZERO_LOAD, ZeroWanted(operator=by, anyway=anyway)))


@click.command("span")
@click.argument("force", type=QuantityType(units.FORCE))
@by_option
@asks
def span(*, force: float, by: str, daemon: Daemon) -> None:
    """Check what the load reads with a known FORCE on it. Exit status 1 where it failed."""
    rows = _newest(daemon, "load")
    _check(daemon, daily_check.LOAD_SPAN, rows, force, by)


@click.command("weight")
@click.argument("mass", type=QuantityType(units.MASS))
@by_option
@asks
def weight(*, mass: float, by: str, daemon: Daemon) -> None:
    """Check what the balance reads with a known MASS on it. Exit status 1 where it failed."""
    rows = _newest(daemon, "balance")[-1:]
    if not rows or rows[0].quality != MassState.STABLE:
        raise InputError("the balance shows no stable mass: expected the check weight, at rest")
    _check(daemon, daily_check.CHECK_WEIGHT, rows, mass, by)


#: To be added to `ramphold bench`.
DAILY_COMMANDS = (zero, span, weight)


def _newest(daemon: Daemon, instrument: Which) -> list[ReadingRow]:
    """What an instrument read over its last two seconds.

    Raises:
        InputError: it says nothing any more.
    """
    now = daemon.ask(INSTRUMENTS, NoParams()).instruments
    age_s = next((one.age_s for one in now if one.name == instrument), None)
    if age_s is None or age_s > _FRESH_S[instrument]:
        raise InputError(f"the {instrument} says nothing: `ramphold check` says why")
    found = daemon.ask(READINGS, ReadingsWanted(instrument=instrument, limit=_MOST)).readings
    since_ns = found[-1].t_ns - _NEWEST_S * 1e9 if found else 0
    return [row for row in found if row.t_ns > since_ns]


def _check(
    daemon: Daemon, rule: daily_check.DailyCheck, rows: list[ReadingRow], expected: float, by: str
) -> None:
    values = [row.value for row in rows if row.value is not None]
    if rule is daily_check.LOAD_SPAN and len(values) < _LEAST:
        raise InputError("the load gives too few readings: `ramphold check` says why")
    wanted = samples.MakeDailyCheck(
        rule=rule.name,
        measured=statistics.median(values),
        expected=expected,
        base=expected,
        operator=by,
    )
    _told(daemon, daemon.ask(samples.MAKE_DAILY_CHECK, wanted))


def _told(daemon: Daemon, kept: DailyCheckMade) -> None:
    text = (
        f"{kept.rule}: {kept.verdict}, reads {kept.measured:.8g} where {kept.expected:.8g} was "
        f"expected, {kept.off_pct:+.3f} % off"
    )
    daemon.show(kept, text)
    raise SystemExit(1 if kept.verdict == daily_check.CheckVerdict.FAILED else 0)
