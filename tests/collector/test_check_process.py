"""The process finds what `check_message` finds, and may be killed at any time."""

import asyncio
import multiprocessing
import os
import resource

import pytest

from ramphold.collector._check_process import CheckProcess
from ramphold.collector._message_check import check_message
from ramphold.wire import pack_envelope

pytestmark = pytest.mark.slow

TOPIC = "ramphold/1/p1/record"


@pytest.fixture(scope="module")
def sent(envelopes):
    return [(TOPIC, pack_envelope(one)) for one in envelopes] + [(TOPIC, b"{nonsense")]


def checked(*batches, between=lambda: None):
    """What becomes of batches, one after the other."""

    async def check():
        checker = CheckProcess()
        checker.start()
        try:
            for sent in batches:
                yield await checker.check(sent)
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


def test_a_process_that_is_killed_costs_no_message(sent, caplog):
    killed = []

    def kill():
        (process,) = multiprocessing.active_children()
        killed.append(process.pid)
        process.kill()
        process.join()

    expected = [check_message(*one) for one in sent]
    assert checked(sent, sent, sent[:1], sent, between=lambda: len(killed) or kill()) == [
        expected, expected, expected[:1], expected,
    ]  # fmt: skip
    assert len(killed) == 1
    assert caplog.messages[0].startswith("the process that checks messages is gone")
    assert multiprocessing.active_children() == []


def test_where_no_process_can_be_started_the_messages_are_checked_all_the_same(sent, caplog):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)

    async def check():
        checker = CheckProcess()
        # Room for the pipe to the process, and none for what it takes to start one.
        free = [os.dup(0) for _ in range(2)]
        for number in free:
            os.close(number)
        resource.setrlimit(resource.RLIMIT_NOFILE, (max(free) + 1, hard))
        try:
            return await checker.check(sent)
        finally:
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
            await checker.aclose()

    assert asyncio.run(check()) == [check_message(*one) for one in sent]
    assert "Too many open files" in caplog.messages[0]
    assert multiprocessing.active_children() == []
