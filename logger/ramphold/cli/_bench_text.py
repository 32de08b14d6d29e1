"""The records of the bench in words."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from ramphold.clock import utc_text
from ramphold.control.bench_methods import ControlSeries
from ramphold.control.server_methods import Status
from ramphold.method.control_chart import BASE_DAYS
from ramphold.method.precision import Spread
from ramphold.sample import BenchRecord, PressWarning
from ramphold.trust import TrustPart

_MOST_WARNINGS = 10


def status_lines(found: Status) -> Iterator[str]:
    """What the bench is doing, and how far each part of it can be trusted."""
    run = "no run is live" if found.run is None else f"run {found.run} is live"
    yield f"{found.bench}: {run}, {utc_text(found.utc_ns)} UTC"
    yield from trust_lines(found.trust)
    for one in found.unusual:
        yield f"UNUSUAL      {one}"


def trust_lines(parts: Sequence[TrustPart]) -> Iterator[str]:
    """How far each part can be trusted, and what to do, a line each."""
    for one in parts:
        yield f"{one.name:<13}{one.level:<9} {one.text}"


def bench_lines(book: BenchRecord) -> Iterator[str]:
    """Certificates, cylinders, checks, equipment, own spread and warnings, a line each."""
    for certificate in book.certificates:
        yield (
            f"certificate  {certificate.certificate}, {certificate.instrument}, "
            f"in force to {certificate.due}"
        )
    for cylinder in book.cylinders:
        yield f"cylinder     {cylinder.cylinder}, {cylinder.volume_cm3:.3f} cm3"
    for check in book.checks[-3:]:
        why = "" if check.anyway is None else f", taken over its limit: {check.anyway}"
        yield f"daily check  {_day(check.utc_ns)} {check.rule}: {check.verdict}{why}"
    for state in book.equipment:
        used = "" if state.check.usable else ", out of use"
        yield f"equipment    {state.check.title}: {state.check.finding}, {state.uses} uses{used}"
    if book.laboratory is not None:
        within = book.laboratory.within
        yield f"own spread   {'not known' if within is None else _spread(within)} a specimen"
        for source in book.laboratory.sources:
            yield f"             {_spread(source.spread)} {source.words}"
    for kept in book.unusual:
        now = "" if kept.in_use else "not used any more: "
        said = f"{now}{kept.key} of {kept.value}: {kept.reason}"
        yield f"unusual      {_day(kept.utc_ns)} {said}, {kept.operator}"
    yield from _warning_lines(book.warnings)


def _spread(spread: Spread) -> str:
    return f"{spread.sd:.2f} % ({spread.dof:.3g} degrees of freedom)"


def _warning_lines(warnings: Sequence[PressWarning]) -> Iterator[str]:
    """The newest warnings first."""
    for one in reversed(warnings[-_MOST_WARNINGS:]):
        load = "load not known" if one.load_lbf is None else f"{one.load_lbf:.0f} lbf"
        limit = "" if one.limit_lbf is None else f" over {one.limit_lbf:.0f}"
        seen = f"seen by {one.seen_by}" if one.seen_by else "not seen"
        yield f"warning      {_minute(one.utc_ns)} {one.warning}, {one.name}: {load}{limit}, {seen}"
    if (earlier := len(warnings) - _MOST_WARNINGS) > 0:
        yield f"             and {earlier} earlier, in the table record_press_warning"


def control_lines(found: ControlSeries) -> Iterator[str]:
    """The control sand's days, each with its moving average and what signals."""
    if not found.points:
        yield "no specimen of a control sand counts at this stress"
    judged = {one.index: one for one in found.judged}
    for index, day in enumerate(found.days):
        line = f"{_day(day.utc_ns)}  {day.mean_pct:6.2f} %  n = {day.n}"
        if (one := judged.get(index)) is not None:
            line += f"  average {one.average:6.2f} % of {one.lower:.2f} to {one.upper:.2f} %"
            if one.signal:
                line += f"  {one.signal.upper()}; {day.answer or 'not answered yet'}"
        yield line
    if found.points and (found.chart is None or not found.chart.complete):
        yield f"{len(found.days)} of {BASE_DAYS} days of the base period: no limits yet"
    if found.chart is not None:
        yield f"centre {found.chart.centre:.2f} %, deviation of a day {found.chart.sigma:.2f} %"


def _day(utc_ns: int) -> str:
    return datetime.fromtimestamp(utc_ns / 1e9, UTC).date().isoformat()


def _minute(utc_ns: int) -> str:
    return f"{datetime.fromtimestamp(utc_ns // 10**9, UTC):%Y-%m-%d %H:%M}"
