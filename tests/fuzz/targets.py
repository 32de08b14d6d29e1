"""What is fuzzed: each reader of bytes from outside, with valid bytes to start from.

A reader may give a result, or raise an error of ours (`RampholdError`, or click's for a command
line). Whatever else it raises is a fault.
"""

import asyncio
import contextlib
import io
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import click

from ramphold.cli import cli
from ramphold.cli.verify import verified
from ramphold.collector import config as collector_config
from ramphold.collector._message_check import check_message
from ramphold.control.handlers import Handlers
from ramphold.control.methods import METHODS
from ramphold.core import Quality, Reading, RunPlan, Tracker
from ramphold.core.trace import Trace
from ramphold.daemon.config import load_config
from ramphold.daemon.trial_file import TrialFile
from ramphold.errors import CommandRefused, RampholdError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.record_seal import CoveringHead, RecordSeal
from ramphold.keys.sealed_file import seal_lines
from ramphold.keys.signed_head import sign_head
from ramphold.sample import Load, MassTaken, ReportIssued, SampleReceived
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import (
    LOAD_PROFILES,
    MASS_PROFILES,
    Envelope,
    RecordMessage,
    decode_assessment,
    decode_body,
    decode_command,
    decode_event,
    decode_plan,
    encode_body,
    encode_record,
    jsonrpc,
    link,
    load_decoder,
    mass_decoder,
    pack_envelope,
    parse_number,
    read_certificate,
    topic,
    unpack_envelope,
)
from ramphold.wire.packed_trace import pack_trace, unpack_trace
from ramphold.wire.run_part import Counts, RunBegun, RunPart, decode_parts, encode_part

ROOT = Path(__file__).parents[2]
OURS = (RampholdError, click.ClickException, click.exceptions.Exit, click.Abort)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A reader of bytes.

    Attributes:
        name: what it reads.
        seeds: bytes that it takes.
        read: reads any bytes; raises one of `OURS`, or nothing.
    """

    name: str
    seeds: tuple[bytes, ...]
    read: Callable[[bytes], object]


def holds(target: Target, data: bytes) -> None:
    """Read bytes; pass over the errors that a caller expects."""
    with contextlib.suppress(*OURS):
        target.read(data)


def _lines(decoder: Callable[[], object]) -> Callable[[bytes], object]:
    def read(data: bytes) -> None:
        lines = decoder()
        for at in range(0, len(data), 7):
            lines.feed(data[at : at + 7])

    return read


def _file(read: Callable[[Path], object], name: str) -> Callable[[bytes], object]:
    def from_bytes(data: bytes) -> object:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, name)
            path.write_bytes(data)
            return read(path)

    return from_bytes


def _command(*arguments: str) -> Callable[[bytes], object]:
    """A command of the program, given the bytes as its file."""

    def read(path: Path) -> None:
        # A command may end with a status of its own.
        with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
            cli.main([one.format(file=path) for one in arguments], standalone_mode=False)

    return _file(read, "input.csv")


def _data(name: str, lines: int = 400) -> bytes:
    return b"".join((ROOT / "tests/data" / name).read_bytes().splitlines(keepends=True)[:lines])


def _transcripts(instrument: str) -> tuple[bytes, ...]:
    folder = ROOT / "tests/transcripts" / instrument
    return tuple(path.read_bytes() for path in sorted(folder.iterdir()))


async def _refuse(_: object) -> None:
    raise CommandRefused("fuzzing")


def _handlers() -> Handlers:
    handlers = Handlers()
    for method in METHODS.values():
        handlers.on(method, _refuse)
    return handlers


_HANDLERS = _handlers()


def _requests(data: bytes) -> None:
    for request in jsonrpc.parse_requests(data).parts:
        if isinstance(request, jsonrpc.Request) and request.method in _HANDLERS:
            with contextlib.suppress(*OURS):
                asyncio.run(_HANDLERS.answer(request.method, request.params))


def _requests_of_all() -> tuple[bytes, ...]:
    params = (
        {"sample": 1, "operator": "KL"},
        {"specimen": 2, "mass_g": 1.5, "test": "crush", "item": "pan", "operator": "KL"},
        {"stress_psi": 4000.0, "replicates": 3, "sample": "26-0417"},
        {},
    )
    return tuple(
        jsonrpc.request_line(at, name, params[at % len(params)]) for at, name in enumerate(METHODS)
    )


_RUN = drawn(GOOD_RUN)
_RECEIPT = SampleReceived(
    record=1, sample=1, operator="KL", utc_ns=1, laboratory_number="26-0417", client_reference="x",
    size="20/40", material="sand", edition="ISO 13503-2:2024", use="fracturing", tests=("crush",),
)  # fmt: skip
_MASS = MassTaken(record=2, sample=1, operator="KL", utc_ns=2, t_ns=2, test="sieve analysis",
                  item="30", load=Load.NET, mass_g=1.25)  # fmt: skip


def _message(record: SampleReceived | MassTaken) -> bytes:
    body = encode_body(record)
    sent = RecordMessage(before="", previous="", link=link("", body), body=body.decode())
    series = "0123456789abcdef" * 2
    return pack_envelope(
        Envelope(bench="press-1", series=series, number=record.record, utc_ns=1, subject="sample",
                 message=sent)
    )  # fmt: skip


def _events() -> tuple[bytes, ...]:
    tracker = Tracker(RunPlan(target_psi=4000), t_ns=0)
    events = [event for reading in _RUN for event in tracker.feed(reading)]
    return (*map(encode_record, events[:12]), encode_record(tracker.assess()))


def _any_record(data: bytes) -> None:
    for decode in (decode_event, decode_command, decode_plan, decode_assessment, decode_body):
        with contextlib.suppress(*OURS):
            decode(data)


_TRACE = Trace.of(
    [
        *_RUN[:200],
        Reading(t_ns=10**12, force_lbf=float("nan"), quality=Quality.GARBLED, line=b"\xff\n"),
        Reading(t_ns=2 * 10**12, force_lbf=12.5, raw=125, exponent=-1, unit="lbf"),
    ]
)

_PART = (
    encode_part(
        RunPart(
            begun=RunBegun(
                run=1, specimen=1, operator="KL", plan=RunPlan(target_psi=4000), t_ns=0, utc_ns=5
            ),
            first=Counts(),
            readings=_RUN[:50],
        )
    )
    .partition(b" ")[2]
    .rstrip(b"\n")
)

_TRIAL = b"""{"trial": {"media": [], "readings": 0, "rate_per_s": 0, "noise_psi": null,
"spikes_per_1000": 0, "double_spikes": 0, "fastest_psi_s": null, "late_psi": null,
"ten_would_do": null, "start": {}, "findings": []}, "operator": "KL", "utc_ns": 1}"""

_KEY = SigningKey.from_bytes(bytes(32))
_SEAL = RecordSeal(
    record=2, previous="ab" * 32,
    body=encode_body(
        ReportIssued(record=2, sample=1, operator="MB", utc_ns=1, revision=1)
    ).decode(),
    head=CoveringHead(head=sign_head(_KEY, "head", 2, "cd" * 32, 1), path=("ef" * 32,)),
    receipt=CoveringHead(head=sign_head(_KEY, "receipt", 2, "cd" * 32, 1), path=("ef" * 32,)),
)  # fmt: skip
_REPORTS = (b"<!DOCTYPE html>\n</html>\n", b"%PDF-1.4\nstartxref\n9\n%%EOF\n")

TARGETS = (
    *(
        Target(name=f"load indicator, {name}", seeds=_transcripts("load-indicator"),
               read=_lines(lambda profile=profile: load_decoder(profile)))
        for name, profile in LOAD_PROFILES.items()
    ),
    *(
        Target(name=f"balance, {name}", seeds=_transcripts("balance"),
               read=_lines(lambda profile=profile: mass_decoder(profile)))
        for name, profile in MASS_PROFILES.items()
    ),
    Target(name="number", seeds=(b"+00012.345", b"-1,5", b" 7."),
           read=parse_number),
    Target(name="requests", seeds=_requests_of_all(), read=_requests),
    Target(name="replies", seeds=(jsonrpc.result_line(1, {"run": 7}),
                                  jsonrpc.notification_line("snapshot", {"force_lbf": 1.5})),
           read=jsonrpc.parse_incoming),
    Target(name="records", seeds=(*_events(), encode_record(RunPlan(target_psi=4000)),
                                  encode_body(_RECEIPT), encode_body(_MASS)), read=_any_record),
    Target(name="envelope", seeds=(_message(_RECEIPT), _message(_MASS)), read=unpack_envelope),
    Target(name="message to the collector", seeds=(_message(_RECEIPT), _message(_MASS)),
           read=lambda data: check_message(topic("press-1", "record"), data)),
    Target(name="packed trace", seeds=(pack_trace(_TRACE),), read=unpack_trace),
    # With a hash of their own, or no edit would get past the first comparison.
    Target(name="part of a run", seeds=(_PART,),
           read=lambda body: decode_parts(sha256(body).hexdigest().encode() + b" " + body + b"\n")),
    Target(name="sealed report", seeds=tuple(one + seal_lines(one, _SEAL) for one in _REPORTS),
           read=lambda data: verified(Path("report"), data)),
    Target(name="certificate", seeds=((ROOT / "hardware/calibration/example.toml").read_bytes(),),
           read=lambda data: read_certificate(data.decode(errors="replace"), "a file")),
    Target(name="bench.toml", seeds=((ROOT / "systemd/bench.example.toml").read_bytes(),),
           read=_file(load_config, "bench.toml")),
    Target(name="collect.toml", seeds=((ROOT / "systemd/collect.example.toml").read_bytes(),),
           read=_file(collector_config.load_config, "collect.toml")),
    Target(name="press trial", seeds=(_TRIAL,),
           read=_file(lambda path: TrialFile(path.with_name("runs.sqlite3")).start,
                      "press-trial.json")),
    Target(name="replay", seeds=(_data("run-4000psi.csv"), _data("noisy-2000psi.csv", 150)),
           read=_command("replay", "{file}", "--target", "4000psi")),
    Target(name="sieving", seeds=(_data("sieving-20-40.csv"),),
           read=_command("calc", "sieve", "--size", "20/40", "{file}")),
    Target(name="fines", seeds=(_data("fines.csv"),), read=_command("calc", "class", "{file}")),
    Target(name="calibration points", seeds=(_data("pontius.csv"),),
           read=_command("calibrate", "--points", "{file}", "--reference-pct", "0.05")),
)  # fmt: skip
