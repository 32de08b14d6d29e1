"""A run: its readings, thinned without losing a spike, and its page without a script."""

import hashlib
import re
import shutil
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from ramphold.browse._run_readings import run_readings
from ramphold.browse.config import BrowseConfig
from ramphold.collector.archive import open_archive
from ramphold.core import Quality, Reading
from ramphold.core.trace import Trace
from ramphold.testing.samples import SampleBook
from ramphold.wire import decode_body
from support.browsing import asked
from support.tampering import tamper

PATH = "runs/{}/{}"
DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def test_the_plotting_library_is_what_its_authors_released():
    folder = resources.files("ramphold.browse") / "static"
    told = re.findall(r"^    ([0-9a-f]{64})  (uPlot\S+)$", DEVELOPERS.read_text(), re.MULTILINE)
    assert len(told) == 2
    for digest, name in told:
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
    assert "Permission is hereby granted" in (folder / "uPlot.LICENSE.txt").read_text()


@pytest.fixture(scope="module")
def long_run():
    """Four minutes at 80 readings/s that rise steadily, with one spike and one garbled reading."""
    readings = [Reading(t_ns=step * 12_500_000, force_lbf=float(step)) for step in range(19_200)]
    readings[7001] = Reading(t_ns=readings[7001].t_ns, force_lbf=25_000.0)
    readings[9003] = Reading(
        t_ns=readings[9003].t_ns, force_lbf=float("nan"), quality=Quality.GARBLED
    )
    book = SampleBook()
    book.specimen(1)
    return book.run(1), Trace.of(readings)


def test_a_thinned_run_keeps_each_spike_and_each_reading_that_is_not_good(long_run):
    found = run_readings(*long_run, begin_s=0.0, end_s=1e9, columns=500)
    assert found.thinned
    assert found.there == 19_200
    assert len(found.t_s) < 1600
    at = found.lbf.index(25_000.0)
    assert found.t_s[at] == pytest.approx(7001 / 80)
    bad = found.t_s.index(pytest.approx(9003 / 80))
    assert found.lbf[bad] is None
    assert found.qualities[found.quality[bad]] == "garbled"
    assert np.all(np.diff(found.t_s) > 0)
    assert (found.t_s[0], found.t_s[-1]) == (0.0, 19_199 / 80)


def test_a_short_window_has_every_reading_as_it_came_and_one_more_on_either_side(long_run):
    run, trace = long_run
    found = run_readings(run, trace, begin_s=87.0, end_s=88.0, columns=500)
    assert not found.thinned
    assert found.lbf == trace.force_lbf[6959:7042].tolist()


@pytest.mark.parametrize("window", [(-5.0, -1.0), (1e9, 2e9), (50.0, 40.0), (float("inf"), 1.0)])
def test_a_window_without_readings_is_no_error(long_run, window):
    begin_s, end_s = window
    assert run_readings(*long_run, begin_s=begin_s, end_s=end_s, columns=10).there <= 2


def test_a_run_without_readings_is_no_error(long_run):
    assert run_readings(long_run[0], Trace(), begin_s=0.0, end_s=1.0, columns=10).t_s == []


def test_without_a_script_the_page_has_the_figure_of_the_report(ask, series):
    page = ask(PATH.format(series, 1)).text
    assert page.count("<svg") == 1
    assert 'class="i-trace"' in page
    assert 'class="i-plan"' in page
    assert "Sample 26-0417" in page
    assert "ramp rate" in page


def test_other_runs_of_the_sample_are_laid_over_it_and_no_others(ask, series):
    page = ask(PATH.format(series, 1) + "?with=2&with=3&with=1&with=999999&with=x").text
    assert [page.count(f'data-run-{n}="') for n in (1, 2, 3, 4)] == [1, 1, 1, 0]
    assert page.count("<svg") == 3


@pytest.mark.parametrize("query", ["", "?from=nan&to=x", "?columns=-5", "?from=1e308&to=-1e308"])
def test_readings_are_answered_whatever_is_asked(ask, series, query):
    answer = ask(PATH.format(series, 1) + f"/readings.json{query}")
    assert answer.status_code == 200
    assert answer.json()["run"] == 1


def test_the_readings_as_csv_have_the_hash_that_the_record_holds(ask, url, series):
    answer = ask(PATH.format(series, 1) + "/readings.csv")
    assert answer.headers["content-disposition"] == 'attachment; filename="p1-run-1.csv"'
    with open_archive(url, read_only=True) as archive:
        record = decode_body(archive.bodies_of_kinds(series, ["run"])[0])
    assert hashlib.sha256(answer.content).hexdigest() == record.trace_sha256


def test_a_run_that_is_not_there_is_not_found(ask, series):
    assert ask(PATH.format(series, 99_999)).status_code == 404
    assert ask(PATH.format("f" * 32, 1)).status_code == 404


def test_a_run_that_was_changed_is_said_to_be_also_where_it_lies_over_another(
    sqlite_url, series, tmp_path
):
    copy = tmp_path / "changed.db"
    shutil.copy(sqlite_url, copy)
    tamper(copy, "UPDATE run_data SET plan = plan || ' ' WHERE run = 1")
    with asked(BrowseConfig(archive=str(copy))) as get:
        assert "CHANGED" in get(PATH.format(series, 1)).text
        assert "CHANGED" not in get(PATH.format(series, 2)).text
        assert "CHANGED" in get(PATH.format(series, 2) + "?with=1").text
