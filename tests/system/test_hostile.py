"""A bench's account in a stranger's hands: nothing that it sends stops the collector."""

import os
import signal
import time
from pathlib import Path

import pytest

from ramphold.collector._message_check import RefusedMessage
from ramphold.collector.archive import open_archive
from ramphold.collector.archive_quarantine import quarantine
from support.broker import children
from support.hostile import attack
from support.laboratory import Laboratory, until
from support.peer import Peer

pytestmark = pytest.mark.slow


@pytest.fixture
def lab(tmp_path):
    made = Laboratory(tmp_path / "lab")
    yield made
    made.close()


def test_two_hundred_hostile_messages_delay_an_honest_bench_by_seconds_and_stop_nobody(lab):
    thief, honest = lab.bench().filled(), lab.bench().start().linked()
    pid = lab.collector.pid
    found = attack(lab, thief, honest)
    assert len(found.messages) == 200
    assert sum(len(one.payload) for one in found.messages) > 100e6
    assert lab.collector.running()
    assert lab.collector.pid == pid
    assert max(found.waits_s) < 10
    assert len(found.waits_s) > 3
    assert found.memory < 250e6
    ((messages, size),) = lab.rows("SELECT count(*), sum(length(payload)) FROM quarantine")
    assert messages <= 200
    assert size <= 8 * 1024 * 1024
    ((dropped,),) = lab.rows("SELECT sum(messages) FROM quarantine_dropped")
    assert dropped > 50
    # The thief's own records were good before, and still are.
    thief.start()
    lab.delivered(honest)


def ended(pid):
    """Whether a process has ended, be it that nobody has fetched its exit status yet."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except FileNotFoundError:
        return True


@pytest.mark.parametrize("end", ["stop", "kill"])
def test_a_collector_ends_and_leaves_nothing_behind_in_the_middle_of_a_message(lab, end):
    # It has started, and set its limits, once something is filed.
    lab.delivered(lab.bench().filled().start())
    bench = lab.bench().filled(3)
    (process,) = [
        one for one in children(lab.collector.pid)
        if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes()
    ]  # fmt: skip
    # To the collector, a stopped process is one that a message keeps busy for ever.
    os.kill(process, signal.SIGSTOP)
    bench.start().linked()
    time.sleep(0.5)
    began_s = time.perf_counter()
    status = getattr(lab.collector, end)()
    assert time.perf_counter() - began_s < 5
    assert status == (0 if end == "stop" else -signal.SIGKILL)
    until(lambda: ended(process), timeout_s=5)
    assert lab.filed(bench) == 0
    lab.collector.start()
    lab.delivered(bench)


def test_a_poisonous_message_is_met_once_also_after_a_restart_and_if_it_is_retained(lab):
    poison = b"{poison"
    bench = lab.bench().filled()
    with Peer(lab.broker.port, lab.broker.account(bench.name)) as peer:
        refused = RefusedMessage(
            topic=f"ramphold/1/{bench.name}/state", bench=bench.name, code="invalid",
            reason="the checking process ended at it", payload=poison, poison=True,
        )  # fmt: skip
        with open_archive(lab.archive) as archive, archive.transaction():
            quarantine(archive.database, [refused], 1)
        lab.collector.stop()
        lab.collector.start().linked()
        for _ in range(2):
            peer.publish(refused.topic, poison, retain=True)
        until(lambda: lab.rows("SELECT times FROM quarantine") == [(3,)])
        lab.collector.kill()
        lab.collector.start().linked()
        # The retained one comes, and those again whose receipt the kill left unsaid.
        until(lambda: lab.rows("SELECT times FROM quarantine") >= [(4,)])
    # What it reads it judges anew: it has not read it.
    assert lab.rows("SELECT poison, reason FROM quarantine") == [(1, refused.reason)]
    bench.start()
    lab.delivered(bench)
