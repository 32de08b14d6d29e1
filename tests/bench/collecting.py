"""How fast the collector files, beside a bare loop from the broker into the same tables.

`make bench-collecting`. The same messages wait for both at a real broker, with TLS. The bare loop
decodes the JSON, inserts the same rows in commits of as many, and acknowledges: it checks no hash,
tells nobody, and can't tell a fork from a duplicate. Both are timed from the moment when the first
messages are filed, as they run for months; the collector's processor time is that of all its
processes.
"""

import argparse
import asyncio
import base64
import json
import multiprocessing
import os
import queue
import sqlite3
import statistics
import tempfile
import threading
import time
from dataclasses import replace
from pathlib import Path

from paho.mqtt.client import CallbackAPIVersion, Client, MQTTv5
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from ramphold.clock import SystemClock
from ramphold.collector.archive import open_archive
from ramphold.collector.config import load_config
from ramphold.collector.main import Collector
from ramphold.notify import Notifier
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.benches import FilledBench
from support.broker import Broker

BATCH = 200
RECORD = "ramphold/1/p1/record"


def main():
    """Print a line for each kind of load."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--messages", type=int, default=20_000)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    print("                                       messages a second         processor ms a message")
    print("load                      messages  collector   bare  ratio     collector   bare  ratio")
    with tempfile.TemporaryDirectory() as folder:
        kinds = loads(Path(folder), asked.messages)
        for name, messages in kinds.items():
            spent = {"collector": [], "bare": []}
            for number in range(asked.rounds):
                for how, collect in (("bare", bare), ("collector", collector)):
                    place = Path(folder) / f"{name.partition(' ')[0]}-{how}-{number}"
                    spent[how].append(timed(place, messages, collect))
            figures = []
            for column in (0, 1):
                ours, theirs = (
                    statistics.median(one[column] for one in spent[how])
                    for how in ("collector", "bare")
                )
                figures.append((ours, theirs, theirs / ours))
            (wall, bare_wall, ratio), (cpu, bare_cpu, cpu_ratio) = figures
            print(
                f"{name:<26}{len(messages):>8}{1 / wall:>11.0f}{1 / bare_wall:>7.0f}{ratio:>7.2f}"
                f"{1000 * cpu:>14.3f}{1000 * bare_cpu:>7.3f}{cpu_ratio:>7.2f}",
                flush=True,
            )


def loads(folder, count):
    """Messages of whole samples, and of runs alone, under as many series as are needed."""
    bench = FilledBench(folder / "bench.sqlite", per_s=10, noise_lbf=8.0)
    bench.certify()
    for number in range(20):
        bench.sample(f"26-{number}")
    bench.close()
    with Store.read(folder / "bench.sqlite") as store:
        whole = [
            store.outbox.envelope("p1", number) for number in range(1, store.records.newest() + 1)
        ]
    runs = [one for one in whole if one.subject == "run"]
    others = [one for one in whole if one.subject != "run"]
    return {
        "whole samples": [pack_envelope(one) for one in many(whole, count)],
        "without their runs": [pack_envelope(one) for one in many(others, count)],
        "runs of 10 readings/s": [pack_envelope(one) for one in many(runs, count // 5)],
    }


def many(envelopes, count):
    """The same records in one series after another."""
    for number in range(count):
        series = f"{number // len(envelopes):032x}"
        yield replace(envelopes[number % len(envelopes)], series=series)


def timed(folder, messages, collect):
    """Seconds a message, by the clock and of the processors, once the first were filed."""
    broker = Broker(folder)
    config = folder / "mosquitto.conf"
    text = config.read_text().replace("max_queued_messages 1000", "max_queued_messages 0")
    config.write_text(text.replace("max_queued_bytes 134217728", "max_queued_bytes 0"))
    broker.account("collector")
    broker.account("p1")
    broker.start()
    try:
        fill(broker, messages)
        marks = []
        collect(folder, broker, len(messages), lambda filed: marks.append((filed, *spent_s())))
    finally:
        broker.stop()
    (first, began_s, began_cpu_s), *_, (last, ended_s, ended_cpu_s) = marks
    return (ended_s - began_s) / (last - first), (ended_cpu_s - began_cpu_s) / (last - first)


def spent_s():
    """The clock, and the processor time of this process and its living children of Python."""
    tick_s = 1 / os.sysconf("SC_CLK_TCK")
    cpu_s = time.process_time()
    for child in multiprocessing.active_children():
        fields = Path(f"/proc/{child.pid}/stat").read_text().rpartition(")")[2].split()
        cpu_s += (int(fields[11]) + int(fields[12])) * tick_s
    return time.perf_counter(), cpu_s


def client(broker, user, name, **options):
    """A connected client with a session that lasts."""
    made = Client(CallbackAPIVersion.VERSION2, name, protocol=MQTTv5, **options)
    account = broker.account(user)
    made.tls_set(account.ca, account.certificate, account.key)
    lasting = Properties(PacketTypes.CONNECT)
    lasting.SessionExpiryInterval = 3600
    return made, lambda: made.connect(
        "localhost", broker.port, clean_start=False, properties=lasting
    )


def fill(broker, messages):
    """Have all messages wait for the collector's session."""
    absent, connect = client(broker, "collector", "ramphold-collector")
    subscribed = threading.Event()
    absent.on_connect = lambda *_: absent.subscribe(RECORD, 1)
    absent.on_subscribe = lambda *_: subscribed.set()
    connect()
    absent.loop_start()
    subscribed.wait()
    absent.disconnect()
    absent.loop_stop()
    bench, connect = client(broker, "p1", "p1")
    left, done = [len(messages)], threading.Event()

    def published(*_):
        left[0] -= 1
        if not left[0]:
            done.set()

    bench.on_publish = published
    connect()
    bench.loop_start()
    for one in messages:
        bench.publish(RECORD, one, qos=1)
    done.wait()
    bench.disconnect()
    bench.loop_stop()


def collector(folder, broker, count, mark):
    """Ours."""
    file = folder / "collect.toml"
    file.write_text(
        f'archive = "{folder}/archive.db"\n[broker]\nhost = "localhost"\nport = {broker.port}\n'
        + broker.account("collector").settings()
    )

    async def collected():
        ours = Collector(load_config(file), SystemClock(), Notifier())
        running = asyncio.create_task(ours.run())
        for filed in (1, count):
            while ours.filed < filed:  # noqa: ASYNC110 - nothing tells the moment
                await asyncio.sleep(0.01)
            mark(ours.filed)
        running.cancel()
        await asyncio.wait([running])

    asyncio.run(collected())


def bare(folder, broker, count, mark):
    """A loop that inserts the same rows."""
    open_archive(str(folder / "archive.db")).close()
    archive = sqlite3.connect(folder / "archive.db", isolation_level=None)
    archive.execute("PRAGMA synchronous=FULL")
    arrived = queue.SimpleQueue()
    listener, connect = client(broker, "collector", "ramphold-collector", manual_ack=True)
    listener.on_message = lambda *told: arrived.put(told[2])
    connect()
    listener.loop_start()
    filed = 0
    while filed < count:
        batch = [arrived.get()]
        while len(batch) < BATCH and not arrived.empty():
            batch.append(arrived.get())
        archive.execute("BEGIN IMMEDIATE")
        for message in batch:
            insert(archive, json.loads(message.payload))
        archive.execute("COMMIT")
        for message in batch:
            listener.ack(message.mid, message.qos)
        filed += len(batch)
        mark(filed)
    listener.disconnect()
    listener.loop_stop()
    archive.close()


def insert(archive, event):
    """Rows of a record, and of what lies beside a run's."""
    data = event["data"]
    record = json.loads(data["body"])
    archive.execute(
        f"INSERT INTO events VALUES ({', '.join('?' * 14)}) ON CONFLICT DO NOTHING",  # noqa: S608
        (event["series"], int(event["sequence"]), "p1", record["kind"], record["sample"],
         record.get("specimen"), record.get("laboratory_number"), record["operator"],
         record["utc_ns"], data["body"], data["before"], data["previous"], data["link"],
         time.time_ns()),
    )  # fmt: skip
    if data["run"] is None:
        return
    run = data["run"]["rows"]
    archive.execute(
        f"INSERT INTO run_data VALUES ({', '.join('?' * 21)}) ON CONFLICT DO NOTHING",  # noqa: S608
        (event["series"], int(event["sequence"]),
         *(record[name] for name in ("run", "specimen", "state", "verdict", "target_psi",
                                     "peak_lbf", "ramp_rate_psi_min", "held_s", "hold_mean_psi",
                                     "started_utc_ns", "ended_utc_ns")),
         run["started_t_ns"], run["ended_t_ns"], record["readings"], run["plan"],
         json.dumps(run["commands"]), json.dumps(run["events"]), run["assessment"],
         base64.b64decode(data["run"]["trace"])),
    )  # fmt: skip


if __name__ == "__main__":
    main()
