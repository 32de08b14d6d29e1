"""Screen, commands and report state one probability of the class, at the bench and in the archive.

It rests on the control sand and on the blanks of other samples, which a sample alone does not hold.
"""

import re

import pytest

from ramphold.collector._archive_writing import file_records
from ramphold.collector.archived_sample import find_sample
from ramphold.control.sample_methods import SampleParams
from ramphold.daemon import _queries
from ramphold.method.precision import Precision, Spread
from ramphold.report import Issue, document, html
from ramphold.sample import BenchRecord, Blank, SieveChosen, SieveUse
from ramphold.store import Store
from ramphold.testing.samples import SampleBook
from ramphold_tui.view.results_table import results_view

LATER = 2_000_000_000_000_000_000


@pytest.fixture
def bench(whole_bench):
    with Store.read(whole_bench) as store:
        yield store


def on_screen(record):
    (said,) = (row.text for row in results_view(record, None).words if "probability" in row.text)
    return float(re.search(r"probability ([\d.]+)$", said)[1])


def in_report(record, trace):
    text = html(document(record, trace, Issue(utc_ns=LATER), []))
    table = text[text.index("Probability of each class") :]
    name = record.evidence.found.crush_class
    return float(re.search(rf">\s*{name}\s*<.*?>\s*([\d.]+)\s*<", table, re.DOTALL)[1])


def test_they_are_one_number(bench, archive, records):
    sheet = _queries.sample(bench, SampleParams(sample=1), LATER).record
    ahead = _queries.next_stress(bench, SampleParams(sample=1), LATER)
    with archive.transaction():
        file_records(archive.database, records, LATER)
    filed = find_sample(archive, "26-0417").record()
    expected = bench.samples.record(1).class_probability
    assert 0 < expected < 1
    assert sheet.class_probability == ahead.probability == filed.class_probability == expected
    assert on_screen(sheet) == round(expected, 2)
    assert in_report(filed, find_sample(archive, "26-0417").trace) == round(expected, 3)
    assert sheet.bench.laboratory is not None


def test_it_changes_with_the_control_sand_and_with_blanks_of_other_samples():
    laboratory = Precision(within=Spread(sd=0.4, dof=20), between=Spread(sd=0.6, dof=8))
    book = SampleBook()
    for use, serial in ((SieveUse.CUT, "A"), (SieveUse.AFTER_CRUSH, "B")):
        book.write(SieveChosen, use=use, serial=serial, sieve=40, check=1)
    for number, (psi, fines_g) in enumerate(((4000, 3.4), (4000, 3.5), (5000, 4.05), (5000, 4.15))):
        book.crushed(number + 1, fines_g, float(psi))
    blank = Blank(sample=9, specimen=90, size="20/40", cut="A", after="B", fines_pct=0.2)
    alone, control, both = (
        book.record(BenchRecord(laboratory=known, blanks=others)).class_probability
        for known, others in ((None, ()), (laboratory, ()), (laboratory, (blank,)))
    )
    assert len({round(one, 3) for one in (alone, control, both)}) == 3
