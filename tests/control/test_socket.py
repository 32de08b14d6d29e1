"""The socket itself: who may connect, what a stop leaves, what a bad client can do."""

import asyncio
import contextlib
import json
import logging
import os
import socket
import stat

import pytest

from ramphold.control import act, run_methods, run_queries, server_methods
from ramphold.control.client import Client
from ramphold.control.handlers import Handlers
from ramphold.control.server import Server
from ramphold.errors import LinkError

NOTHING = act.NoParams()
STATUS = b'{"jsonrpc":"2.0","id":1,"method":"status"}\n'


def test_owner_and_group_may_connect_and_nobody_else(bench):
    async def check():
        before = os.umask(0o022)
        os.umask(before)
        async with bench.serving():
            mode = bench.path.stat().st_mode
            assert stat.S_ISSOCK(mode)
            assert stat.S_IMODE(mode) == 0o660
            after = os.umask(before)
            assert after == before

    asyncio.run(check())


def test_who_connects_is_logged_by_the_kernels_word(bench, caplog):
    async def check():
        async with bench.linked() as client:
            await client.call(server_methods.STATUS, NOTHING)

    with caplog.at_level(logging.INFO):
        asyncio.run(check())
    who = f"client pid {os.getpid()} uid {os.getuid()} gid {os.getgid()}"
    assert [one.message for one in caplog.records if who in one.message] == [
        f"{who} connected",
        f"{who} left",
    ]


def test_the_socket_of_a_dead_daemon_is_replaced(bench):
    dead = socket.socket(socket.AF_UNIX)
    dead.bind(str(bench.path))
    dead.close()

    async def check():
        async with bench.linked() as client:
            assert await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())


def test_a_second_daemon_is_refused_and_the_first_goes_on(bench):
    async def check():
        async with bench.linked() as client:
            second = Server(bench.path, Handlers())
            with pytest.raises(LinkError, match=f"^{bench.path}: another daemon listens there"):
                await second.start()
            await second.aclose()
            assert await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())


def test_a_file_that_is_no_socket_is_left_alone(bench):
    bench.path.write_text("notes")
    with pytest.raises(LinkError, match=f"^{bench.path}: is not a socket: remove it"):
        asyncio.run(bench.server.start())
    assert bench.path.read_text() == "notes"


@pytest.mark.parametrize(
    ("name", "told"),
    [("missing/control.sock", "No such file or directory$"), ("x" * 200, ".*choose a shorter one")],
)
def test_a_path_that_can_not_be_listened_at_is_named(path, name, told):
    where = path.parent / name
    with pytest.raises(LinkError, match=f"^{where}: can't listen there: {told}"):
        asyncio.run(Server(where, Handlers()).start())


def test_a_server_can_be_stopped_twice_and_started_again(bench):
    async def check():
        for _ in range(2):
            async with bench.linked() as client:
                assert await client.call(server_methods.STATUS, NOTHING)
            await bench.server.aclose()

    asyncio.run(check())


def test_a_line_over_64_kb_closes_that_client_alone(bench, caplog):
    async def check():
        async with bench.linked() as other:
            with bench.raw() as link:
                await link.send(b'{"jsonrpc":"2.0","id":1,"method":"' + b"x" * 70_000)
                assert await link.line() == b""
            assert await other.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())
    assert "dropped: it sent a line over 65536 bytes" in caplog.text


def test_a_line_just_under_64_kb_is_served(bench):
    async def check():
        async with bench.serving():
            with bench.raw() as link:
                padded = STATUS.rstrip(b"\n").ljust(65_000) + b"\n"
                assert json.loads(await link.ask(padded))["id"] == 1

    asyncio.run(check())


def test_a_process_with_too_many_connections_is_refused_another_until_it_closes_one(bench, caplog):
    async def check():
        async with bench.serving():
            with contextlib.ExitStack() as stack:
                links = [stack.enter_context(bench.raw()) for _ in range(32)]
                for link in links:
                    assert json.loads(await link.ask(STATUS))["id"] == 1
                for _ in range(50):
                    with bench.raw() as more:
                        told = json.loads(await more.line())["error"]["message"]
                        assert told == "this process has 32 connections: close some first"
                        assert await more.line() == b""
                one_more = await Client.connect(bench.path)
                with pytest.raises(LinkError, match="this process has 32 connections"):
                    await one_more.call(server_methods.STATUS, NOTHING)
                await one_more.aclose()
                links[0].stop_sending()
                assert await links[0].line() == b""
                with bench.raw() as again:
                    assert json.loads(await again.ask(STATUS))["id"] == 1

    asyncio.run(check())
    assert caplog.text.count("refused") == 1


def test_any_split_of_the_same_bytes_gives_the_same_answers(bench):
    async def check():
        async with bench.serving():
            with bench.raw() as link:
                for byte in STATUS + STATUS:
                    await link.send(bytes([byte]))
                assert await link.line() == await link.line() != b""

    asyncio.run(check())


def test_a_client_that_closed_its_half_still_gets_its_answers(bench):
    async def check():
        async with bench.serving():
            with bench.raw() as link:
                await link.send(STATUS * 3)
                link.stop_sending()
                answers = [await link.line() for _ in range(4)]
                assert [bool(answer) for answer in answers] == [True, True, True, False]

    asyncio.run(check())


def test_a_request_is_carried_out_though_its_client_has_gone(bench):
    async def check():
        began, goes_on, done = asyncio.Event(), asyncio.Event(), asyncio.Event()

        async def end_run(_):
            began.set()
            await goes_on.wait()
            done.set()

        bench.live_run = 1
        bench.handlers.on(run_methods.END_RUN, end_run)
        async with bench.serving():
            with bench.raw() as link:
                await link.send(
                    b'{"jsonrpc":"2.0","id":1,"method":"end_run",'
                    b'"params":{"reason":"x","operator":"KL"}}\n'
                )
                await began.wait()
            goes_on.set()
            await done.wait()

    asyncio.run(check())


def test_a_stop_ends_requests_that_are_under_way(bench):
    async def check():
        began, ended = asyncio.Event(), []

        async def run(_):
            began.set()
            try:
                await asyncio.Event().wait()
            finally:
                ended.append(True)

        bench.handlers.on(run_queries.RUN, run)
        async with bench.serving():
            client = await Client.connect(bench.path)
            call = asyncio.create_task(client.call(run_queries.RUN, run_queries.RunParams(run=1)))
            await began.wait()
            await bench.server.aclose()
            assert ended == [True]
            with pytest.raises(LinkError, match="the daemon closed the link"):
                await call
            await client.aclose()

    asyncio.run(check())


@pytest.mark.slow
def test_a_stop_does_not_wait_for_a_client_that_reads_nothing(bench, event):
    async def check():
        async with bench.serving():
            with bench.raw() as link:
                subscribe = {"jsonrpc": "2.0", "id": 1, "method": "subscribe"}
                line = json.dumps(subscribe | {"params": {"topics": ["event"]}}).encode()
                assert await link.ask(line + b"\n")
                for n in range(4000):
                    bench.server.publish(run_methods.ON_EVENT, event(n))
                began_s = asyncio.get_running_loop().time()
                await bench.server.aclose()
                assert asyncio.get_running_loop().time() - began_s < 1.5

    asyncio.run(check())


def test_a_client_with_many_requests_under_way_is_read_on_when_they_are_answered(bench):
    async def check():
        began, goes_on, running, most = asyncio.Event(), asyncio.Event(), 0, 0

        async def run(params):
            nonlocal running, most
            running += 1
            most = max(most, running)
            if running == 16:
                began.set()
            await goes_on.wait()
            running -= 1
            return {"n": params.id}

        bench.handlers.on(run_queries.RUN, run)
        async with bench.serving():
            with bench.raw() as link:
                for n in range(1, 41):
                    await link.send(
                        b'{"jsonrpc":"2.0","id":%d,"method":"run","params":{"run":%d}}\n' % (n, n)
                    )
                await began.wait()
                goes_on.set()
                answers = {json.loads(await link.line())["id"] for _ in range(40)}
        assert answers == set(range(1, 41))
        assert most == 16

    asyncio.run(check())
