import asyncio
import contextlib

import pytest
from msgspec.structs import replace

from ramphold.core import Cue, CueKind
from ramphold.testing import ManualClock
from ramphold_tui.plain_text import Reporter, report_changes
from ramphold_tui.view.bench_state import LinkLost


@pytest.fixture
def lines():
    return []


@pytest.fixture
def clock():
    return ManualClock()


@pytest.fixture
def reporter(lines, clock):
    return Reporter(lines.append, clock)


def told(bench, cue=None):
    """The newest load, with a cue of our own choice."""
    live = bench.live()
    return replace(live, snapshot=replace(live.snapshot, cue=cue))


def test_each_change_of_state_is_one_line(bench, reporter, lines):
    for t_s in (0.5, 60, 150, 242, 245):
        bench.feed_until(t_s)
        reporter.take(told(bench))
    states = [line.split(":")[0] for line in lines]
    assert states == ["ready", "ramp", "hold", "release", "complete"]
    assert lines[1] == (
        "ramp: keep the load on the line, load 6 168 lbf, stress 1 963 psi, on the line"
    )


def test_readings_that_change_little_are_no_line(bench, reporter, lines):
    for tenth in range(10):
        bench.feed_until(60 + tenth / 10)
        reporter.take(told(bench))
    assert len(lines) == 1


def test_the_ramp_gets_a_line_each_tenth_of_the_target_and_the_hold_one_each_ten_seconds(
    bench, reporter, lines
):
    for tenth in range(2410):
        bench.feed_until(tenth / 10)
        reporter.take(told(bench))
    states = [line.split(":")[0] for line in lines]
    assert states.count("ramp") == 11
    assert states.count("hold") == 12


def test_silence_is_a_change_too(bench, reporter, lines, clock):
    bench.feed_until(60)
    reporter.take(told(bench))
    clock.advance(3)
    reporter.look()
    clock.advance(3)
    reporter.look()
    assert [line.split(":")[0] for line in lines] == ["ramp", "no reading"]


def test_a_lost_link_is_said_once_however_often_it_is_tried_again(bench, reporter, lines):
    bench.feed_until(60)
    reporter.take(told(bench))
    for _ in range(3):
        reporter.take(LinkLost("gone"))
    assert [line.split(":")[0] for line in lines] == ["ramp", "no link"]


def test_it_follows_a_daemon_over_its_socket(bench):
    bench.feed_until(60)
    said = asyncio.Queue()

    async def flow():
        async with bench.server, asyncio.timeout(5):
            task = asyncio.create_task(report_changes(bench.path, said.put_nowait))
            assert (await said.get()).startswith("ramp: squeeze: ")
            bench.feed_until(150)
            bench.publish()
            assert (await said.get()).startswith("hold: 90 s: nothing to do")
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await task

    asyncio.run(flow())


def test_a_new_cue_is_a_line_that_names_the_state_too(bench, reporter, lines):
    bench.feed_until(60)
    for kind in (CueKind.SQUEEZE, CueKind.SQUEEZE, CueKind.STOP):
        reporter.take(told(bench, Cue(t_ns=0, kind=kind, after_psi=2100.0)))
    assert [line.split(",")[0] for line in lines] == [
        "ramp: squeeze: a slow",
        "ramp: stop: stop pulling: rests at about 2 100 psi",
    ]
