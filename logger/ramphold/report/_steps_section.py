"""The steps of the method as a table; what differs from the edition, and what is not recorded."""

from collections.abc import Iterator

from ramphold.method.entered import INSTRUMENT_TESTS
from ramphold.method.sieves import PAN
from ramphold.report._document import Block, Group, TableRow, listed, table
from ramphold.report._format import NONE, NOT_RECORDED, together
from ramphold.report._method_section import METHOD_TITLE, departures
from ramphold.report._method_steps import MethodStep, method_steps
from ramphold.report._report_input import ReportInput
from ramphold.sample import SampleRecord

# More would not leave room for the statements on the second page.
_MOST_HERE = 4
# What no record of this program holds.
_NEVER_RECORDED = ("way of splitting", "way of filling the cell")


def step_blocks(given: ReportInput) -> Iterator[Block]:
    """Every step, and the deviations."""
    record = given.record
    steps = tuple(method_steps(record))
    yield table(
        f"{record.edition.name}, step by step",
        "step:<1.3 | done:<2.2 | by:<0.5 | when, UTC:<1.5",
        map(_row, steps),
    )
    missing = [
        *(one.missing for one in steps if one.missing),
        *_of_sieves(record),
        *_of_instruments(record),
    ]
    unrecorded = f"Not recorded: {together([*missing, *_NEVER_RECORDED])}."
    found = list(departures(record))
    more = []
    if len(found) > _MOST_HERE:
        more = [f"{len(found) - _MOST_HERE} more, in the annex under {METHOD_TITLE}"]
    said = listed([unrecorded, *found[:_MOST_HERE], *more])
    yield Group(title="Deviations from the edition, and what was not recorded", blocks=(said,))


def _of_sieves(record: SampleRecord) -> Iterator[str]:
    """What is not recorded of the sieves of the analysis and of specimens that count."""
    weighed = [sieve for sieve in record.sieving.masses_g if sieve != PAN]
    if missing := [one for one in sorted(weighed) if one not in record.sieving.sieves]:
        yield f"sieves of the stack (No. {together(map(str, missing))})"
    counted = [one for one in record.specimens if one.counts]
    if any(one.cut_sieve is None for one in counted):
        yield "sieve of the cut"
    if any(one.crush_sieve is None for one in counted):
        yield "sieve after the crush"
    if any(not record.blanks_for(one) for one in counted):
        yield "blank"


def _of_instruments(record: SampleRecord) -> Iterator[str]:
    """The tests with a result of an instrument that is not recorded."""
    done = {one.name for one in record.properties}
    done |= {one.test for one in record.gravimetric if one.loss is not None}
    without = [one for one in INSTRUMENT_TESTS if one in done - record.instruments.keys()]
    if without:
        yield f"instruments for {together(without)}"


def _row(one: MethodStep) -> TableRow:
    value = one.value or NOT_RECORDED
    if one.value and one.missing:
        value = f"{one.value}; {NOT_RECORDED}: {one.missing}"
    return TableRow((one.name, value, one.by or NONE, one.when.removesuffix(" UTC") or NONE))
