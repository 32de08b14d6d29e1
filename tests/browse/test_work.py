"""What is open, what was crushed on which day, and why runs did not pass."""

import re

import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.browse.words import clock_minute
from ramphold.browse.work import _measured
from ramphold.clock import SystemClock
from ramphold.collector._message_filing import file_messages
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.core import RunPlan, Tracker
from ramphold.sample import RunCheck
from ramphold.store import Store
from ramphold.testing.runs import drawn
from ramphold.wire import pack_envelope
from support.archived import arrived
from support.benches import FilledBench
from support.browsing import asked
from support.specimens import add_specimen

#: 4000 psi/min instead of 2000, in (time in s, stress in psi).
TOO_FAST = ((0.0, 0.0), (1.0, 0.0), (61.0, 4000.0), (182.0, 4000.0), (183.0, 0.0), (185.0, 0.0))


@pytest.fixture(scope="module")
def failing(tmp_path_factory):
    """The page of an archive whose only run rose twice as fast as it should, two days ago."""
    folder = tmp_path_factory.mktemp("failing")
    bench = FilledBench(folder / "bench.sqlite")
    bench.now_ns = SystemClock().utc_ns() - 2 * 86_400 * 10**9
    bench.certify()
    sample = bench.sample("26-0500", stresses=[], reference="too fast")
    specimen = add_specimen(
        bench.store, sample=sample, label="1", target_psi=4000.0, utc_ns=bench.now_ns
    ).specimen
    plan, readings = RunPlan(target_psi=4000.0), drawn(TOO_FAST)
    tracker = Tracker(plan, t_ns=0)
    events = [event for one in readings for event in tracker.feed(one)]
    run = bench.store.runs.begin(
        specimen=specimen, operator="KL", plan=plan, t_ns=0, utc_ns=bench.now_ns
    )
    bench.store.runs.end(
        run,
        readings=readings,
        events=events,
        assessment=tracker.assess(),
        utc_ns=bench.now_ns + 200 * 10**9,
    )
    bench.store.runs.pack()
    bench.close()
    with (
        Store.read(folder / "bench.sqlite") as store,
        open_archive(str(folder / "a.db")) as archive,
    ):
        newest = store.records.newest()
        packed = [pack_envelope(store.outbox.envelope("p1", n + 1)) for n in range(newest)]
        file_messages(archive, [arrived("ramphold/1/p1/record", one) for one in packed], 1)
        while work_out(archive):
            pass
    with asked(BrowseConfig(archive=str(folder / "a.db"))) as ask:
        yield ask


def section(page, name):
    """The part of a page below a heading."""
    return page.partition(f'id="{name}"')[2].partition("<h2")[0]


def test_open_samples_of_clients_stand_by_state_the_oldest_first(ask):
    page = section(ask("work").text, "open")
    found = re.findall(r'<th scope="row"><a href="[^"]*">([^<]*)</a>', page)
    assert found == ["26-0417", "26-0418"]
    assert "Reviewed, not reported" in page
    assert page.count('<p class="soft">none</p>') == 2


def test_a_day_long_ago_is_not_among_the_last_days(ask):
    assert '<p class="soft">none</p>' in section(ask("work").text, "days")


def test_a_run_that_did_not_pass_says_why_and_what_became_of_it(failing):
    page = section(failing("work").text, "failed")
    assert "p1, 1</a>" in page

    assert "ramp rate 4" in page
    assert "allowed 1800 to 2200" in page
    assert "failed its assessment, and nobody has decided that it counts" in page
    assert "26-0500</a> 1" in page


def test_a_crushed_specimen_stands_on_its_day(failing):
    page = section(failing("work").text, "days")
    day = clock_minute(SystemClock().utc_ns() - 2 * 86_400 * 10**9)[:10]
    row = page.partition(f'<th scope="row">{day}</th>')[2].partition("</tr>")[0]
    assert re.findall(r"(\d+|.)</td>", row) == ["1", "1"]
    assert page.count('<th scope="row">') == 28 + 1


@pytest.mark.parametrize(
    ("check", "words"),
    [
        ({"value": 1831.2, "low": 1900.0, "high": 2100.0}, "1831 psi/min, allowed 1900 to 2100"),
        ({"value": 12.0, "low": None, "high": 2.0}, "12 psi/min, allowed up to 2"),
        ({"value": None, "low": 5.0, "high": None}, "not measured, allowed from 5"),
    ],
)
def test_a_failed_check_says_what_was_measured_and_what_is_allowed(check, words):
    assert _measured(RunCheck(name="rate", unit="psi/min", passed=False, **check)) == words
