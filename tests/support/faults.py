"""Everything that can fail between a bench and the archive, one function for each fault.

Each function breaks something in a running laboratory, repairs it, and returns the affected benches
and what happened meanwhile. `tests/system/test_faults.py` runs each and checks that every record
is filed once; `tests/bench/faults.py` prints them as a table.
"""

import contextlib
import resource
import shutil
import signal
import sqlite3
import time
from dataclasses import replace

from ramphold import wire
from ramphold.sample import ValueEntered
from ramphold.store import Store
from support.laboratory import until
from support.peer import Peer
from support.proxy import DOWN, UP

__all__ = ["FAULTS"]

FAULTS = []
YEAR_NS = 365 * 86_400 * 10**9


def fault(function):
    FAULTS.append(function)
    return function


def waiting(bench):
    return f"{bench.outbox()[0]} records waited on the bench"


def killed_before_the_receipt(lab, program):
    """Hold the receipts of committed records back, and kill broker or collector then."""
    lab.collector.line.hold(UP)
    bench = lab.bench().filled().start()
    until(lambda: lab.filed(bench))
    program.kill()
    told = f"{lab.filed(bench)} were filed, {waiting(bench)}"
    lab.collector.line.back()
    program.start()
    return [bench], told


# --- the broker ----------------------------------------------------------------------------------


@fault
def broker_away_while_records_are_made(lab):
    lab.broker.kill()
    bench = lab.bench().filled().start()
    bench.status()
    worked_s = bench.works_on()
    told = f"a record took {1000 * worked_s:.0f} ms, {waiting(bench)}"
    lab.broker.start()
    return [bench], told


@fault
def broker_killed_after_its_acknowledgement_before_the_collector_had_the_message(lab):
    lab.collector.line.hold(DOWN)
    bench = lab.bench().filled().start()
    quiet(bench)
    lab.broker.kill()
    told = waiting(bench)
    lab.collector.line.back()
    lab.broker.start()
    return [bench], told


@fault
def broker_killed_after_the_commit_before_the_receipt(lab):
    return killed_before_the_receipt(lab, lab.broker)


@fault
def broker_killed_while_the_receipt_is_under_way(lab):
    bench = lab.bench().filled().start().linked()
    lab.delivered(bench)
    bench.line.hold(DOWN)
    bench.works_on()
    until(lambda: lab.filed(bench) == len_of(bench))
    lab.broker.kill()
    told = waiting(bench)
    bench.line.away()
    bench.line.back()
    lab.broker.start()
    return [bench], told


@fault
def broker_that_answers_nothing(lab):
    bench = lab.bench().filled().start().linked()
    lab.broker.signal(signal.SIGSTOP)
    worked_s = max(bench.works_on() for _ in range(3))
    lab.broker.signal(signal.SIGCONT)
    return [bench], f"a record took at most {1000 * worked_s:.0f} ms"


@fault
def broker_refuses_one_record(lab):
    bench = refused_by_the_broker(lab)
    bench.works_on()
    until(lambda: bench.outbox() == (0, 1) and lab.filed(bench) == len_of(bench) - 1)
    (parked,) = bench.publishing().parked
    assert "Not authorized" in parked.reason
    bench.publish_again()
    return [bench], "parked with its reason, the next one went out; sent again by command"


@fault
def broker_refuses_the_newest_record(lab):
    bench = refused_by_the_broker(lab)
    began_s = time.perf_counter()
    until(lambda: bench.outbox() == (0, 0))
    return [bench], f"the collector asked for it after {time.perf_counter() - began_s:.0f} s"


# --- the network ---------------------------------------------------------------------------------


@fault
def network_cut_in_mid_message_on_the_way_up(lab):
    bench = lab.bench().filled()
    for count in (200, 20_000):
        bench.line.cut_after(count)
        if not bench.running():
            bench.start()
        until(lambda: bench.line.cuts, timeout_s=60)
        bench.line.cuts = 0
    return [bench], "cut after 0.2 and 20 kB"


@fault
def network_cut_in_mid_message_on_the_way_down(lab):
    bench = lab.bench().filled()
    for count in (1500, 3500):
        bench.line.cut_after(count, DOWN)
        if not bench.running():
            bench.start()
        until(lambda: bench.line.cuts or not bench.outbox()[0], timeout_s=60)
        bench.line.cuts = 0
    return [bench], "cut after 1.5 and 3.5 kB"


@fault
def network_cut_between_the_parts_of_a_large_record(lab):
    bench = lab.bench().filled()
    with Store.open(bench.database) as store:
        large = ValueEntered(sample=1, operator="KL", utc_ns=1, what="x" * 200_000, value=1.0)
        store.records.append(large)
    bench.set_up(lab.broker.account(bench.name), "max_packet = 16384\n")
    bench.line.hold_after(150_000)
    bench.start()
    there = "SELECT count(*), max(parts) FROM parts WHERE bench = ?"
    until(lambda: lab.rows(there, bench.name)[0][0])
    bench.line.away()
    ((parts, of),) = lab.rows(there, bench.name)
    bench.line.back()
    return [bench], f"{parts} of {of} parts were there"


@fault
def network_gone_without_a_word(lab):
    bench = lab.bench().filled().start().linked()
    bench.line.hold(UP, DOWN)
    worked_s = max(bench.works_on() for _ in range(3))
    bench.line.away()
    bench.line.back()
    return [bench], f"a record took at most {1000 * worked_s:.0f} ms"


# --- the collector -------------------------------------------------------------------------------


@fault
def collector_killed_before_its_commit(lab):
    bench = lab.bench().filled()
    with contextlib.closing(sqlite3.connect(lab.archive)) as other:
        other.execute("BEGIN IMMEDIATE")
        bench.start()
        quiet(bench)
        lab.collector.kill()
        other.rollback()
    told = f"{lab.filed(bench)} were filed, {waiting(bench)}"
    lab.collector.start()
    return [bench], told


@fault
def collector_killed_between_commit_and_receipt(lab):
    return killed_before_the_receipt(lab, lab.collector)


@fault
def collector_killed_again_and_again(lab):
    bench = lab.bench().filled(4).start()
    kills = 0
    while bench.outbox()[0] and kills < 3:
        before = lab.filed(bench)
        until(lambda: lab.filed(bench) > before or not bench.outbox()[0])  # noqa: B023
        lab.collector.kill()
        lab.collector.start()
        kills += 1
    return [bench], f"{kills} kills"


@fault
def collector_down_for_days(lab):
    lab.collector.stop()
    bench = lab.bench().filled(6).start()
    quiet(bench)
    told = waiting(bench)
    lab.collector.start()
    return [bench], told


# --- the archive ---------------------------------------------------------------------------------


@fault
def archive_that_can_not_grow(lab):
    """The size limit stands for a full disk; `test_archive_faults.py` has a real one."""
    limit = resource.prlimit(lab.collector.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(lab.collector.pid, resource.RLIMIT_FSIZE, (4096, limit[1]))
    bench = lab.bench().filled().start()
    quiet(bench)
    told = f"{lab.filed(bench)} were filed, {waiting(bench)}"
    assert lab.collector.running()
    resource.prlimit(lab.collector.pid, resource.RLIMIT_FSIZE, limit)
    return [bench], told


# --- the bench -----------------------------------------------------------------------------------


@fault
def bench_killed_before_it_had_the_receipt(lab):
    bench = lab.bench().filled().start()
    lab.delivered(bench)
    bench.line.hold(DOWN)
    bench.works_on()
    until(lambda: lab.filed(bench) == len_of(bench))
    bench.kill()
    told = f"{lab.filed(bench)} were filed, {waiting(bench)}"
    bench.line.away()
    bench.line.back()
    bench.start()
    return [bench], told


@fault
def bench_killed_again_and_again(lab):
    bench = lab.bench().filled(4).start()
    kills = 0
    while bench.outbox()[0] and kills < 2:
        before = lab.filed(bench)
        until(lambda: lab.filed(bench) > before or not bench.outbox()[0])  # noqa: B023
        bench.kill()
        bench.start()
        kills += 1
    return [bench], f"{kills} kills"


@fault
def clock_set_back_a_year(lab):
    bench = lab.bench().filled(begin_ns=1_800_000_000 * 10**9)
    bench.filled(seed=2, begin_ns=1_800_000_000 * 10**9 - YEAR_NS).start()
    return [bench], "filed in the order of their numbers"


@fault
def bench_restored_from_an_old_copy(lab):
    bench = lab.bench().filled().start()
    lab.delivered(bench)
    bench.stop()
    copy = bench.folder / "copy.sqlite3"
    shutil.copy(bench.database, copy)
    bench.filled(seed=2).start()
    lab.delivered(bench)
    bench.stop()
    with Store.read(bench.database) as store:
        lost = store.outbox.series(), store.records.newest()
    shutil.copy(copy, bench.database)
    bench.filled(seed=3).start()
    until(lambda: new_series(bench, lost[0]))
    lab.delivered(bench)
    ((filed,),) = lab.rows("SELECT count(*) FROM events WHERE series = ?", lost[0])
    assert filed == lost[1]
    stands = "SELECT standing FROM benches WHERE bench = ? ORDER BY first_utc_ns"
    assert lab.rows(stands, bench.name) == [("in force",), ("disputed",)]
    return [bench], "what was filed stands; the new series is disputed until a person decides"


@fault
def bench_given_another_name(lab):
    bench = lab.bench().filled(2).start()
    lab.delivered(bench)
    signed = "SELECT 1 FROM benches WHERE bench = ? AND fingerprint IS NOT NULL"
    until(lambda: lab.rows(signed, bench.name))
    bench.kill()
    ((runs,),) = bench.rows("SELECT count(*) FROM runs")
    renamed = lab.bench(f"{bench.name}b", folder=bench.name).start()
    until(lambda: lab.filed(renamed) == len_of(renamed))
    lab.collector.kill()
    lab.collector.start().linked()
    shown = "SELECT bench, count(*) FROM runs WHERE bench IN (?, ?) GROUP BY bench"
    # Once its key has signed in the new name, too.
    until(lambda: lab.rows(shown, bench.name, renamed.name) == [(renamed.name, runs)])
    assert not lab.rows("SELECT 1 FROM quarantine WHERE bench = ?", renamed.name)
    return [renamed], "all went out again under the new name, and counts once"


@fault
def two_benches_of_one_name(lab):
    one, other = lab.bench("twin", folder="twin-1"), lab.bench("twin", folder="twin-2")
    one.filled(seed=1).start()
    other.filled(seed=2).start()
    return [one, other], "each has its own series"


@fault
def two_benches_of_one_database(lab):
    one, other = lab.bench(), lab.bench()
    one.filled()
    shutil.copy(one.database, other.database)
    one.start()
    lab.delivered(one)
    other.start()
    return [one, other], "the second began a series of its own"


@fault
def expired_certificate(lab):
    bench = lab.bench().filled()
    lab.broker.expire(bench.name)
    bench.start()
    until(lambda: "is our certificate good?" in bench.publishing().text)
    worked_s = bench.works_on()
    told = f"a record took {1000 * worked_s:.0f} ms, {waiting(bench)}"
    lab.broker.renew(bench.name)
    return [bench], told


# --- what arrives --------------------------------------------------------------------------------


@fault
def every_message_three_times_and_in_reverse(lab):
    bench = lab.bench().filled()
    with Store.read(bench.database) as store:
        numbers = store.outbox.waiting(limit=1000)
        messages = [
            wire.pack_envelope(store.outbox.envelope(bench.name, number)) for number in numbers
        ]
    with Peer(lab.broker.port, lab.broker.account(bench.name)) as peer:
        for message in messages[::-1] * 3:
            peer.publish(wire.topic(bench.name, "record"), message)
        until(lambda: lab.filed(bench) == len(numbers))
    bench.start()
    return [bench], f"{3 * len(numbers)} messages, {len(numbers)} rows"


@fault
def hostile_payloads(lab):
    bench = lab.bench().filled()
    with Store.read(bench.database) as store:
        good = store.outbox.envelope(bench.name, 1)
    before, counted = lab.collector.memory(), refused(lab)
    bad = list(hostile(good))
    with Peer(lab.broker.port, lab.broker.account(bench.name)) as peer:
        for payload in bad:
            peer.publish(wire.topic(bench.name, "record"), payload)
    until(lambda: refused(lab) >= counted + len(bad))
    grown = lab.collector.memory() - before
    assert grown < 50e6
    bench.start()
    return [bench], f"{len(bad)} kept or counted, memory grew by {grown / 1e6:.0f} MB"


def hostile(good):
    """Payloads that no bench sends."""
    packed = wire.pack_envelope(good)
    yield from (b"", b"\0", b"{}", b"[]", b"null", b"\xff\xfe\xfd", packed[:-1], packed + b"x")
    yield b"[" * 500_000
    yield b'{"data":' * 100_000
    yield b'"' + b"x" * 1_000_000 + b'"'
    yield b"9" * 900_000
    for text in (b"1e999", b"-1", b"1" + b"0" * 400, b'"1"', b"null", b"[[[[]]]]", b"NaN"):
        yield packed.replace(b'"data":{', b'"data":{"x":' + text + b",", 1)
        yield packed.replace(b'"sequence":"000000000001"', b'"sequence":' + text)
    for name in (b"+", b"#", b"press-1/record", b"../../etc", b"$SYS", b"a" * 65, b"\\u0000", b""):
        yield packed.replace(b"ramphold/" + good.bench.encode(), b"ramphold/" + name)
    yield packed.replace(b"ramphold/" + good.bench.encode(), b"ramphold/somebody-else")
    yield packed.replace(b"KL", b"MB")  # its hash is not the hash of its text
    yield wire.pack_envelope(replace(good, number=2))


# --- helpers -------------------------------------------------------------------------------------


def refused_by_the_broker(lab):
    """A bench whose newest record the broker refused, and would accept now."""
    bench = lab.bench().start().linked()
    bench.works_on()
    lab.delivered(bench)
    rights = (lab.broker.folder / "ramphold.acl").read_text()
    # The bench's own certificate would throw the bench out.
    state = wire.topic("probe", "state")
    with Peer(lab.broker.port, lab.broker.account("probe")) as peer:
        lab.broker.rights("user collector\ntopic readwrite ramphold/#\n")
        until(lambda: peer.publish(state) == "Not authorized")
        bench.works_on()
        until(lambda: bench.outbox() == (0, 1))
        lab.broker.rights(rights)
        until(lambda: peer.publish(state) == "Success")
    return bench


def quiet(bench):
    """Wait until a bench has sent everything that it sends without an answer."""
    until(lambda: bench.line.passed[UP] > 3000)
    passed, since_s = 0, time.perf_counter()
    while time.perf_counter() - since_s < 0.25:
        if passed != bench.line.passed[UP]:
            passed, since_s = bench.line.passed[UP], time.perf_counter()
        time.sleep(0.02)


def refused(lab):
    """How many messages the quarantine has kept, or dropped and counted."""
    kept = lab.rows("SELECT total(times) FROM quarantine")
    dropped = lab.rows("SELECT total(messages) FROM quarantine_dropped")
    return kept[0][0] + dropped[0][0]


def len_of(bench):
    """How many records a bench has."""
    with Store.read(bench.database) as store:
        return store.records.newest()


def new_series(bench, old):
    with Store.read(bench.database) as store:
        return store.outbox.series() != old
