"""The real collector and a real broker; the tests play the benches."""

import asyncio
import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from msgspec import structs

from ramphold.clock import SystemClock
from ramphold.collector._message_check import RefusedMessage
from ramphold.collector.archive import open_archive
from ramphold.collector.archive_quarantine import quarantine
from ramphold.collector.config import load_config
from ramphold.collector.main import Collector, Pace
from ramphold.notify import Notifier
from ramphold.store import Store
from ramphold.wire import Receipt, StateMessage, link, pack_envelope, unpack_envelope
from support.benches import FilledBench
from support.broker import children
from support.peer import Peer

RECORD = "ramphold/1/p1/record"


@pytest.fixture(scope="module")
def envelopes(tmp_path_factory):
    """The records of a bench with one sample of one stress."""
    path = tmp_path_factory.mktemp("bench") / "bench.sqlite"
    bench = FilledBench(path)
    bench.certify()
    bench.sample("26-0417", stresses=[8000.0])
    bench.close()
    with Store.read(path) as store:
        return [
            store.outbox.envelope("p1", number) for number in range(1, store.records.newest() + 1)
        ]


class Collecting:
    """The collector's process on one archive, started any number of times."""

    def __init__(self, folder, broker):
        self.folder, self.broker = folder, broker
        self.archive = str(folder / "archive.db")
        self.running = []

    def config(self, account="collector", **keys):
        lines = [f"{name} = {json.dumps(value)}\n" for name, value in keys.items()]
        file = self.folder / f"collect-{len(self.running)}.toml"
        file.write_text(
            f'archive = "{self.archive}"\n{"".join(lines)}[broker]\nhost = "localhost"\n'
            f"port = {self.broker.port}\n{self.broker.account(account).settings()}"
        )
        return file

    def start(self, account="collector", environ=(), **keys):
        config = self.config(account, **keys)
        command = [sys.executable, "-m", "ramphold.cli", "collect", "--config", config]
        log = self.folder / f"log-{len(self.running)}"
        with log.open("wb") as file:
            process = subprocess.Popen(command, stderr=file, env={**os.environ, **dict(environ)})
        self.running.append(process)
        for _ in range(500):
            if b"linked to" in log.read_bytes():
                return process
            assert process.poll() is None, log.read_text()
            time.sleep(0.02)
        raise AssertionError(log.read_text())

    def status(self):
        done = subprocess.run(
            [sys.executable, "-m", "ramphold.cli", "collect", "--config", self.config(), "--status",
             "--json"],
            check=False, capture_output=True,
        )  # fmt: skip
        return done.returncode, json.loads(done.stdout)

    def end(self):
        for process in self.running:
            process.kill()
            process.wait()


@pytest.fixture
def collecting(tmp_path, broker):
    made = Collecting(tmp_path, broker)
    yield made
    made.end()


@pytest.fixture
def bench(broker):
    """A bench that receives its receipts."""
    with Peer(broker.port, broker.account("p1"), name="p1") as peer:
        peer.subscribe("ramphold/1/p1/receipt")
        yield peer


def heard(bench, count):
    """Wait for this many receipts; the numbers that were filed, and every refusal."""
    taken, refused = set(), []
    while len(taken) < count:
        topic, payload = bench.hear()
        assert topic == "ramphold/1/p1/receipt"
        receipt = unpack_envelope(payload).message
        assert isinstance(receipt, Receipt)
        taken |= set(receipt.taken)
        refused += receipt.refused
    return taken, refused


def test_what_a_bench_sends_is_filed_and_then_told_and_the_status_says_so(
    collecting, bench, envelopes, manager
):
    process = collecting.start(environ={"NOTIFY_SOCKET": manager.getsockname()})
    assert manager.recv(100) == b"READY=1"
    for one in envelopes:
        bench.publish(RECORD, pack_envelope(one))
    state = replace(envelopes[0], number=0, subject="state", message=StateMessage(
        online=True, newest=len(envelopes), run="hold"))  # fmt: skip
    bench.publish("ramphold/1/p1/state", pack_envelope(state), retain=True)
    assert heard(bench, len(envelopes)) == (set(range(1, len(envelopes) + 1)), [])
    status, said = collecting.status()
    assert status == 0
    (one,) = said["benches"]
    assert (one["bench"], one["filed"], one["missing"], said["quarantine"]) == (
        "p1", len(envelopes), [], [],
    )  # fmt: skip
    process.send_signal(signal.SIGTERM)
    assert process.wait(5) == 0
    assert b"STOPPING=1" in manager.recv(100)
    with open_archive(collecting.archive, read_only=True) as archive:
        run = archive.run(envelopes[0].series, 1)
        assert run.trace == next(e for e in envelopes if e.subject == "run").message.run.trace
        assert archive.database.rows("SELECT laboratory_number, crush_class FROM samples") == [
            ("26-0417", "8K")
        ]


def test_a_collector_that_is_killed_again_and_again_files_everything_once(
    collecting, bench, envelopes
):
    there = set()
    for part in range(0, len(envelopes), 12):
        process = collecting.start()
        for one in envelopes[part : part + 12]:
            bench.publish(RECORD, pack_envelope(one))
        process.kill()
        process.wait()
    collecting.start()
    # The records that the broker still holds are filed. The bench sends lost ones again.
    for one in envelopes:
        bench.publish(RECORD, pack_envelope(one))
    there, refused = heard(bench, len(envelopes))
    assert (len(there), refused) == (len(envelopes), [])
    with open_archive(collecting.archive, read_only=True) as archive:
        assert archive.database.rows("SELECT count(*), count(DISTINCT record) FROM events") == [
            (len(envelopes), len(envelopes))
        ]


def test_while_the_archive_can_not_be_reached_nothing_is_told_and_then_everything(
    collecting, bench, envelopes, tmp_path
):
    collecting.archive = str(tmp_path / "not yet" / "archive.db")
    collecting.start()
    for one in envelopes[:9]:
        bench.publish(RECORD, pack_envelope(one))
    time.sleep(0.5)
    assert bench._heard.empty()
    (tmp_path / "not yet").mkdir()
    assert heard(bench, 9) == (set(range(1, 10)), [])


def test_two_collectors_share_the_records_and_one_goes_on_alone(collecting, bench, envelopes):
    word = "only-the-collectors-know"
    first = collecting.start(shared=word)
    collecting.start("collector-2", shared=word)
    for one in envelopes[:20]:
        bench.publish(RECORD, pack_envelope(one))
    assert heard(bench, 20)[0] == set(range(1, 21))
    first.kill()
    first.wait()
    missing = set(range(21, 41))
    while missing:
        for number in sorted(missing):
            bench.publish(RECORD, pack_envelope(envelopes[number - 1]))
        missing -= heard(bench, 1)[0]


def test_nonsense_is_kept_and_stops_nobody(collecting, bench, envelopes):
    collecting.start()
    for payload in (b"", b"{", b"[" * 900_000, b"\xff" * 500_000):
        bench.publish(RECORD, payload)
    bench.publish(RECORD, pack_envelope(envelopes[0]))
    assert heard(bench, 1)[0] == {1}
    (kept,) = collecting.status()[1]["quarantine"]
    assert (kept["bench"], kept["messages"]) == ("p1", 4)


def test_what_an_older_collector_refused_is_filed_and_told_by_a_newer_one(
    collecting, bench, envelopes
):
    with open_archive(collecting.archive) as archive, archive.transaction():
        for one in envelopes[:30]:
            refused = RefusedMessage(
                topic=RECORD, bench="p1", series=one.series, record=one.number, code="invalid",
                reason="of a kind that it did not know", payload=pack_envelope(one),
            )  # fmt: skip
            quarantine(archive.database, [refused], 1)
    collecting.start()
    assert heard(bench, 30) == (set(range(1, 31)), [])
    status, said = collecting.status()
    assert (status, said["quarantine"], said["benches"][0]["filed"]) == (0, [], 30)


def test_no_process_outlives_a_collector_that_was_killed(collecting, bench, envelopes):
    process = collecting.start()
    bench.publish(RECORD, pack_envelope(envelopes[0]))
    heard(bench, 1)
    others = [Path(f"/proc/{pid}") for pid in children(process.pid)]
    assert others
    process.kill()
    process.wait()
    for _ in range(250):
        if not any(one.exists() for one in others):
            return
        time.sleep(0.02)
    raise AssertionError(f"still there: {others}")


def test_two_benches_with_one_name_are_told(collecting, bench, envelopes):
    collecting.start()
    first, second = envelopes[:2]
    # What the other wrote first is something else: it is no copy of the first bench's database.
    body = first.message.body.replace('"operator":"KL"', '"operator":"MM"')
    message = structs.replace(first.message, body=body, link=link("", body.encode()))
    assert message.link != first.message.link
    for one in (first, replace(first, series="b" * 32, message=message), second):
        bench.publish(RECORD, pack_envelope(one))
        heard(bench, 1)
    status, said = collecting.status()
    stories = [(one["record"], one["filed"]["bench"], one["arrived"]["bench"])
               for one in said["disputes"]]  # fmt: skip
    assert (status, stories) == (1, [(1, "p1", "p1")])


def test_a_gap_is_asked_for_and_a_bench_hears_of_a_collector_that_came(
    collecting, bench, envelopes
):
    config = load_config(collecting.config())

    def hear():
        return unpack_envelope(bench.hear()[1]).message

    def ask():
        for number in (1, 4):
            while bench.publish(RECORD, pack_envelope(envelopes[number - 1])) != "Success":
                time.sleep(0.05)
        return next(said for said in iter(hear, None) if said.wanted)

    async def collect(talk):
        pace = Pace(look_s=0.05, gap_s=0.2)
        running = asyncio.create_task(Collector(config, SystemClock(), Notifier(), pace).run())
        try:
            return await asyncio.to_thread(talk)
        finally:
            running.cancel()
            await asyncio.wait([running])

    assert asyncio.run(collect(ask)).wanted == ((2, 3),)
    assert asyncio.run(collect(hear)) == Receipt(series=envelopes[0].series)


@pytest.mark.parametrize(
    ("host", "mode", "said"),
    [
        ("localhost", 0o644, "others may read the password"),
        ("broker.example", 0o600, "a password goes over TLS only"),
    ],
)
def test_a_password_that_others_may_read_is_refused_before_anything_is_sent(
    tmp_path, host, mode, said
):
    password = tmp_path / "password"
    password.write_text("a pass word")
    password.chmod(mode)
    config = tmp_path / "collect.toml"
    config.write_text(
        f'archive = "{tmp_path}/archive.db"\n[broker]\nhost = "{host}"\nuser = "collector"\n'
        f'password_file = "{password}"\n'
    )
    done = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "collect", "--config", config],
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 2
    assert said in done.stderr.splitlines()[-1]
