"""The client against what it may find at the other end, or not find."""

import asyncio
import socket
from contextlib import asynccontextmanager

import pytest

from ramphold.control import act, run_methods, server_methods
from ramphold.control.client import Client
from ramphold.errors import LinkError, WireError

NOTHING = act.NoParams()


@asynccontextmanager
async def scripted(path, script):
    """A client of a peer that does what `script(reader, writer)` says, and then leaves."""
    done = asyncio.Event()

    async def play(reader, writer):
        try:
            await script(reader, writer)
        finally:
            writer.close()
            done.set()

    server = await asyncio.start_unix_server(play, path)
    async with server, await Client.connect(path) as client:
        yield client
        await done.wait()


@pytest.mark.parametrize("left", ["nothing", "a dead socket"])
def test_where_nobody_listens_it_says_so_and_what_to_do(path, left):
    if left == "a dead socket":
        dead = socket.socket(socket.AF_UNIX)
        dead.bind(str(path))
        dead.close()
    with pytest.raises(
        LinkError,
        match=rf"^{path}: no daemon listens there: start one with `ramphold daemon --config FILE`$",
    ):
        asyncio.run(Client.connect(path))


def test_a_path_that_can_be_no_socket_is_named(path):
    long = path.with_name("x" * 200)
    with pytest.raises(LinkError, match=f"^{long}: expected the daemon's socket"):
        asyncio.run(Client.connect(long))


def test_a_link_that_breaks_ends_calls_and_subscriptions_with_its_reason(path):
    async def leave(reader, writer):
        await reader.readline()
        writer.write(b'{"jsonrpc":"2.0","id":1,"result":{"topics":["event"]}}\n')
        await reader.readline()

    async def check():
        async with scripted(path, leave) as client:
            told = await client.subscribe(run_methods.ON_EVENT)
            for ask in (client.call(server_methods.STATUS, NOTHING), anext(told)):
                with pytest.raises(LinkError, match=f"^{path}: the daemon closed the link"):
                    await ask
            with pytest.raises(LinkError, match="the daemon closed the link"):
                await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"hello\n", "not a JSON-RPC reply or notification"),
        (b'{"jsonrpc":"2.0","method":"snapshot","params":{"t_ns":"x"}}\n', "snapshot: not what"),
        (b"x" * 5_000_000, "a message over 4194304 bytes"),
    ],
)
def test_a_peer_that_does_not_speak_the_protocol_breaks_the_link(path, line, reason):
    async def talk(reader, writer):
        await reader.readline()
        writer.write(line)
        await reader.read()

    async def check():
        async with scripted(path, talk) as client:
            with pytest.raises(LinkError, match=f"^{path}: {reason}"):
                await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())


def test_what_a_newer_daemon_tells_more_is_passed_over(path):
    async def talk(reader, writer):
        await reader.readline()
        writer.write(b'{"jsonrpc":"2.0","method":"weather","params":{"rain":true}}\n')
        writer.write(b'{"jsonrpc":"2.0","id":99,"result":1}\n')
        writer.write(b'{"jsonrpc":"2.0","id":null,"error":{"code":-32700,"message":"?"}}\n')
        writer.write(
            b'{"jsonrpc":"2.0","id":1,"result":{"bench":"b","version":"9","t_ns":1,"utc_ns":2,'
            b'"instruments":[],"run":null,"colour":"red"}}\n'
        )

    async def check():
        async with scripted(path, talk) as client:
            assert (await client.call(server_methods.STATUS, NOTHING)).version == "9"

    asyncio.run(check())


def test_a_call_given_up_leaves_the_link_usable(path):
    async def talk(reader, writer):
        await reader.readline()
        await reader.readline()
        for number in (1, 2):
            writer.write(
                b'{"jsonrpc":"2.0","id":%d,"error":{"code":-32601,"message":"no %d"}}\n'
                % (number, number)
            )

    async def check():
        async with scripted(path, talk) as client:
            given_up = asyncio.create_task(client.call(server_methods.STATUS, NOTHING))
            asyncio.get_running_loop().call_soon(given_up.cancel)
            with pytest.raises(asyncio.CancelledError):
                await given_up
            with pytest.raises(WireError, match=r"^no 2$"):
                await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())


def test_closing_ends_calls_under_way(path):
    async def listen(reader, _writer):
        await reader.read()

    async def check():
        async with scripted(path, listen) as client:
            call = asyncio.create_task(client.call(server_methods.STATUS, NOTHING))
            asyncio.get_running_loop().call_soon(lambda: None)
            closing = asyncio.create_task(client.aclose())
            with pytest.raises(LinkError, match="the link was closed"):
                await call
            await closing

    asyncio.run(check())
