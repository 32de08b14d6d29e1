"""The bench's own book in words, for people."""

from collections.abc import Iterator
from datetime import UTC, datetime

from ramphold.control.sample_methods import ControlSeries
from ramphold.sample import BenchRecord

__all__ = ["bench_lines", "control_lines"]


def bench_lines(book: BenchRecord) -> Iterator[str]:
    """What stands behind the numbers."""
    for certificate in book.certificates:
        yield (
            f"certificate  {certificate.certificate}, {certificate.instrument}, "
            f"in force to {certificate.due}"
        )
    for cylinder in book.cylinders:
        yield f"cylinder     {cylinder.cylinder}, {cylinder.volume_cm3:.3f} cm3"
    for check in book.checks[-3:]:
        yield f"daily check  {_day(check.utc_ns)} {check.rule}: {check.verdict}"
    for state in book.equipment:
        used = "" if state.check.usable else ", out of use"
        name = f"{state.check.equipment} {state.check.name}"
        yield f"equipment    {name}: {state.check.finding}, {state.uses} uses{used}"
    if book.laboratory is not None:
        spread = book.laboratory
        yield f"own spread   {spread.sd:.2f} % a specimen, {spread.dof:g} degrees of freedom"


def control_lines(found: ControlSeries) -> Iterator[str]:
    """The control sand's fines, with what speaks beside each."""
    if not found.points:
        yield "no specimen of a control sand counts at this stress"
    for index, point in enumerate(found.points):
        said = ", ".join(signal.rule for signal in found.signals if signal.index == index)
        yield (
            f"{_day(point.utc_ns)}  {point.fines_pct:6.2f} %  {point.operator:<6} {point.press} "
            f"{point.cell}  {said}"
        )
    if found.chart is not None:
        chart = found.chart
        yield f"centre {chart.centre:.2f} %, limits {chart.lower:.2f} to {chart.upper:.2f} %"


def _day(utc_ns: int) -> str:
    return datetime.fromtimestamp(utc_ns / 1e9, UTC).date().isoformat()
