"""Two hundred messages that a hostile holder of a bench's account may send, by kind."""

import gzip
import hashlib
import random
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

from msgspec import structs

from ramphold.store import Store
from ramphold.wire import Envelope, cut, decode_body, encode_body, link, pack_envelope, topic
from support.peer import Peer

__all__ = ["Attack", "Hostile", "attack", "hostile_messages", "run_with_trace"]

HUGE = b"9" * 4300
MB = 1_000_000
#: Messages that nothing has counted for so long will not be.
SETTLED_S = 10.0


@dataclass(frozen=True, slots=True)
class Hostile:
    """A message; `kind` is what a table calls it."""

    kind: str
    topic: str
    payload: bytes
    retain: bool = False


def packed(count, *, raw=None, off=None, force=None, forms=None):
    """A packed trace of so many readings with these columns, whatever they hold."""
    raw = b",".join([b"0"] * count) if raw is None else raw
    off = b",".join([b"0"] * (count - 1)) if off is None else off
    force = b",".join([b"null"] * count) if force is None else force
    forms = b'[["good",0,"lbf",%d]]' % count if forms is None else forms
    return gzip.compress(
        b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[%b],"raw":[%b],"forms":%b,'
        b'"force":[%b],"lines":{}}' % (off, raw, forms, force)
    )


def run_with_trace(run: Envelope, trace: bytes, readings: int) -> Envelope:
    """A run's envelope with another trace, every hash made anew: nobody but the trace is wrong."""
    try:
        text = gzip.decompress(trace)
    except (OSError, EOFError):
        text = b""
    record = structs.replace(
        decode_body(run.message.body),
        readings=readings,
        packed_sha256=hashlib.sha256(text).hexdigest(),
    )
    body = encode_body(record).decode()
    message = structs.replace(
        run.message,
        body=body,
        link=link(run.message.previous, body.encode()),
        run=structs.replace(run.message.run, trace=trace),
    )
    return replace(run, message=message)


def hostile_messages(good: list[Envelope], seed: int = 1) -> list[Hostile]:
    """The messages, in an order that mixes the kinds, from the good ones of the same bench."""
    bench = good[0].bench
    record, state = topic(bench, "record"), topic(bench, "state")
    run = next(one for one in good if one.subject == "run")
    rng = random.Random(seed)
    found = [Hostile("poisonous numbers", record, one) for one in _poison(run)]
    found += [Hostile("bombs", record, one) for one in _bombs(run)]
    found += [Hostile("mutations", record, one) for one in _mutated(good, rng)]
    found += [Hostile("parts of nothing", record, one) for one in _parts(run)]
    for payload in [*_poison(run)][:4]:
        found.append(Hostile("retained", record, payload, retain=True))
        found.append(Hostile("retained", state, payload, retain=True))
    while len(found) < 200:
        found.append(Hostile("noise of 1 MB", record, rng.randbytes(MB)))
    rng.shuffle(found)
    return found


def _poison(run: Envelope) -> Iterator[bytes]:
    """Small messages with numbers of thousands of digits, and texts of no kind."""
    many = b"[%b]" % HUGE
    for trace in (
        packed(2, raw=b"%b,-%b" % (HUGE, HUGE)),
        packed(2, raw=b"%b,%b" % (HUGE, HUGE), off=HUGE),
        packed(2, forms=b'[["good",0,"lbf",%b],["good",1,"lbf",%b]]' % (HUGE, HUGE)),
        packed(2, forms=b'[["good",%b,"lbf",2]]' % HUGE),
        packed(2, force=b"%b,1e308" % HUGE),
        packed(2, raw=b"9" * 5000 + b",1"),
    ):
        yield pack_envelope(run_with_trace(run, trace, 2))
    whole = pack_envelope(run)
    yield whole.replace(b'"started_t_ns":', b'"started_t_ns":' + HUGE)
    yield whole.replace(b'"commands":[', b'"commands":[' + b'[%b,%b,""],' % (HUGE, HUGE))
    yield whole.replace(b'\\"readings\\":', b'\\"readings\\":' + HUGE)
    yield whole.replace(b'\\"run\\":', b'\\"run\\":' + b"9" * 4400)
    yield whole.replace(b'"sequence":"', b'"sequence":"' + HUGE)
    yield whole.replace(b'"time":"2', b'"time":"9999999' + b"9" * 4300)
    yield whole.replace(b'"data":{', b'"data":{"x":' + many + b",")
    yield whole.replace(b'"subject":"run"', b'"subject":"\\ud800"')


def _bombs(run: Envelope) -> Iterator[bytes]:
    """Small messages that unpack to much, and deep ones."""
    for count in (3_000_000, 900_000):
        yield pack_envelope(run_with_trace(run, packed(count), count))
        yield pack_envelope(run_with_trace(run, packed(count), 2))
    wide = b",".join(b"%d" % (10**12 + 7 * one) for one in range(250_000))
    narrow = wide[: wide.rindex(b",")]
    for force in (None, wide):
        trace = packed(250_000, raw=wide, off=narrow, force=force)
        # It is larger than one packet.
        yield from cut(run_with_trace(run, trace, 250_000), 900_000)
    gigabyte = gzip.compress(bytes(200 * MB))
    yield pack_envelope(run_with_trace(run, gigabyte, 1000))
    yield pack_envelope(run_with_trace(run, gigabyte, 1_000_000))
    nested = gzip.compress(gzip.compress(bytes(20 * MB)))
    yield pack_envelope(run_with_trace(run, nested, 1000))
    yield from (b"[" * 900_000, b'{"data":' * 100_000, b'{"a":[' * 100_000)
    body = b'{\\"kind\\":\\"mass\\",\\"x\\":' + b"[" * 100_000 + b"]" * 100_000 + b"}"
    yield pack_envelope(run).replace(b'"body":"', b'"body":"' + body)


def _mutated(good: list[Envelope], rng: random.Random) -> Iterator[bytes]:
    """Good messages with a few bytes changed, cut, doubled or exchanged."""
    for number in range(40):
        payload = bytearray(pack_envelope(good[rng.randrange(len(good))]))
        for _ in range(rng.randint(1, 6)):
            at = rng.randrange(len(payload))
            match number % 4:
                case 0:
                    payload[at] ^= 1 << rng.randrange(8)
                case 1:
                    del payload[at : at + rng.randint(1, 40)]
                case 2:
                    payload[at:at] = payload[at : at + rng.randint(1, 40)]
                case _:
                    payload[at : at + 1] = rng.choice([b"\0", b"\xff", b'"', b"\\u0000", b"-1e999"])
        yield bytes(payload)


def _parts(run: Envelope) -> Iterator[bytes]:
    """Parts that never become a whole, and parts whose whole is none."""
    pieces = cut(run, 4096)
    yield from pieces[:2]
    wrong = replace(run, number=run.number + 1)
    yield from (piece.replace(b'"sha256":"', b'"sha256":"0') for piece in cut(wrong, 4096)[:2])


@dataclass(frozen=True, slots=True)
class Attack:
    """What happened while a bench's account sent hostile messages.

    Attributes:
        messages: what it sent.
        waits_s: how long each record of an honest bench waited to be filed, meanwhile.
        memory: the most that the collector and its processes held, in bytes.
        took_s: from the first message until all were filed, refused or dropped.
    """

    messages: list[Hostile]
    waits_s: list[float]
    memory: int
    took_s: float


def attack(lab, thief, honest, seed=1):
    """Send hostile messages as `thief`, a bench that is not running, while `honest` works on."""
    with Store.read(thief.database) as store:
        numbers = range(1, store.records.newest() + 1)
        messages = hostile_messages(
            [store.outbox.envelope(thief.name, number) for number in numbers], seed
        )
    began_s = time.perf_counter()
    most = [0]
    sent = threading.Event()

    def watch():
        while not sent.is_set():
            most[0] = max(most[0], lab.collector.memory())
            time.sleep(0.02)

    def flood():
        with Peer(lab.broker.port, lab.broker.account(thief.name)) as peer:
            for one in messages:
                peer.publish(one.topic, one.payload, retain=one.retain)

    threads = [threading.Thread(target=one) for one in (watch, flood)]
    for one in threads:
        one.start()
    waits_s = []
    try:
        left, changed_s = len(messages), began_s
        # A part that comes twice is kept once, so a few may never be counted.
        while threads[1].is_alive() or (left > 0 and time.perf_counter() - changed_s < SETTLED_S):
            before, left = left, unread(lab, thief, messages)
            if left != before or threads[1].is_alive():
                changed_s = time.perf_counter()
            since_s = time.perf_counter()
            honest.works_on()
            lab.delivered(honest)
            waits_s.append(time.perf_counter() - since_s)
            time.sleep(0.05)
    finally:
        sent.set()
        for one in threads:
            one.join()
    return Attack(messages, waits_s, most[0], time.perf_counter() - began_s)


def unread(lab, thief, messages):
    """How many of the messages are neither filed, nor refused, nor dropped, nor kept as a part."""
    counts = lab.rows(
        """SELECT (SELECT count(*) FROM events WHERE bench = ?),
        (SELECT coalesce(sum(times), 0) FROM quarantine WHERE bench = ?),
        (SELECT coalesce(sum(messages), 0) FROM quarantine_dropped WHERE bench = ?),
        (SELECT count(*) FROM parts WHERE bench = ?)""",
        *[thief.name] * 4,
    )
    return len(messages) - sum(counts[0])
