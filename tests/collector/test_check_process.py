"""The process finds what `check_message` finds, and may be killed at any time."""

import asyncio
import gzip
import hashlib
import multiprocessing
import os
import resource
from dataclasses import replace

import pytest
from msgspec import structs

from ramphold.collector._check_process import CheckProcess
from ramphold.collector._message_check import RefusedMessage, check_message
from ramphold.wire import decode_body, encode_body, link, pack_envelope

pytestmark = pytest.mark.slow

TOPIC = "ramphold/1/p1/record"


@pytest.fixture(scope="module")
def sent(envelopes):
    return [(TOPIC, pack_envelope(one)) for one in envelopes] + [(TOPIC, b"{nonsense")]


def checked(*batches, between=lambda: None):
    """What becomes of batches, one after the other; each is given again until all is answered."""

    async def check():
        checker = CheckProcess()
        checker.start()
        try:
            for sent in batches:
                found = [None] * len(sent)
                for _ in range(len(sent) + 1):
                    open_ones = [index for index, one in enumerate(found) if one is None]
                    answers = await checker.check([sent[index] for index in open_ones])
                    for index, one in zip(open_ones, answers, strict=True):
                        found[index] = one and one.message
                yield found
                between()
        finally:
            await checker.aclose()

    async def collect():
        return [one async for one in check()]

    return asyncio.run(collect())


def test_it_says_of_each_message_what_it_comes_to_in_order(sent):
    half = len(sent) // 2
    first, second = checked(sent[:half], sent[half:])
    assert first + second == [check_message(*one) for one in sent]
    assert multiprocessing.active_children() == []


def kill_once():
    """A function that kills the checking process at its first call."""
    killed = []

    def kill():
        if not killed:
            (process,) = multiprocessing.active_children()
            killed.append(process.pid)
            process.kill()
            process.join()

    return kill


def test_a_process_that_is_killed_costs_no_message(sent, caplog):
    expected = [check_message(*one) for one in sent]
    assert checked(sent, sent, sent[:1], sent, between=kill_once()) == [
        expected, expected, expected[:1], expected,
    ]  # fmt: skip
    assert caplog.messages == ["the checking process is gone and is started again: -9"]
    assert multiprocessing.active_children() == []


def test_where_no_process_can_be_started_nothing_is_read_until_one_can(sent, caplog):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)

    async def check():
        checker = CheckProcess()
        # Room for the pipe to the process, and none for what it takes to start one.
        free = [os.dup(0) for _ in range(2)]
        for number in free:
            os.close(number)
        resource.setrlimit(resource.RLIMIT_NOFILE, (max(free) + 1, hard))
        try:
            none = await checker.check(sent[:9])
        finally:
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        found = await checker.check(sent[:9])
        await checker.aclose()
        return none, found

    none, found = asyncio.run(check())
    assert none == [None] * 9
    assert [one.message for one in found] == [check_message(*one) for one in sent[:9]]
    assert "Too many open files" in caplog.messages[0]
    assert multiprocessing.active_children() == []


def run_of(envelopes, trace, readings):
    """The message of a run whose trace and hashes are these."""
    envelope = next(one for one in envelopes if one.subject == "run")
    record = structs.replace(
        decode_body(envelope.message.body), readings=readings,
        packed_sha256=hashlib.sha256(gzip.decompress(trace)).hexdigest(),
    )  # fmt: skip
    body = encode_body(record).decode()
    message = structs.replace(
        envelope.message, body=body, link=link(envelope.message.previous, body.encode()),
        run=structs.replace(envelope.message.run, trace=trace),
    )  # fmt: skip
    return TOPIC, pack_envelope(replace(envelope, message=message))


def columns(raw, off, readings):
    return gzip.compress(
        b'{"version":1,"start_ns":0,"step_ns":0,"off_ns":[%b],"raw":[%b],"forms":'
        b'[["good",0,"lbf",%d]],"force":[%b],"lines":{}}'
        % (off, raw, readings, b",".join([b"null"] * readings))
    )


def test_what_takes_too_much_memory_is_refused_and_the_rest_is_checked(envelopes, sent):
    # A million readings whose numbers share nothing take more than the process may have.
    many = 1_000_000
    wide = b",".join(b"%d" % (10**17 + 7 * one) for one in range(many))
    fat = run_of(envelopes, columns(wide[: wide.rindex(b",")] + b",1", wide, many), many)
    (found,) = checked([sent[0], fat, sent[1]])
    assert [found[0], found[2]] == [check_message(*one) for one in sent[:2]]
    assert isinstance(found[1], RefusedMessage)
    assert found[1].payload == fat[1]


def test_a_process_that_computes_too_long_is_ended_and_its_message_never_read_again(
    sent, monkeypatch, tmp_path, caplog
):
    # The child finds this module instead of ours: a message for which its check never ends.
    (tmp_path / "sitecustomize.py").write_text(
        "import ramphold.collector._message_check as checks\n"
        "good = checks.check_message\n"
        "def check(topic, payload):\n"
        "    while payload == b'endless': pass\n"
        "    if payload == b'raises': raise ZeroDivisionError('nobody foresaw it')\n"
        "    if payload == b'crashes': import os; os.abort()\n"
        "    return good(topic, payload)\n"
        "checks.check_message = check\n"
    )
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}:{os.environ.get('PYTHONPATH', '')}")
    bad = [(TOPIC, one) for one in (b"endless", b"crashes", b"raises")]
    batch = [sent[0], bad[0], sent[1], bad[1], bad[2], sent[2]]
    first, again = checked(batch, batch)
    good = [check_message(*one) for one in sent[:3]]
    for found in (first, again):
        assert [found[0], found[2], found[5]] == good
        assert [found[number].poison for number in (1, 3, 4)] == [True] * 3
    assert [first[number].reason for number in (1, 3, 4)] == [
        "the checking process ended at it: it takes more than 3 s",
        "the checking process ended at it: SIGABRT",
        "it can't be checked: ZeroDivisionError: nobody foresaw it",
    ]
    assert {again[number].reason for number in (1, 3, 4)} == {
        "it ended the checking process before"
    }
    # Each was met once.
    assert len(caplog.messages) == 2
