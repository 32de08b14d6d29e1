"""A bad network on loopback: forwards bytes until it is told to cut or to hold them."""

import asyncio
import socket
import threading
from math import inf

__all__ = ["DOWN", "UP", "Proxy"]

#: From a client to the server, and back.
UP, DOWN = "up", "down"


class Proxy:
    """Forwards between clients and a local port, in its own thread.

    Attributes:
        port: where clients connect.
        cuts: how many connections have ended.
        passed: how many bytes went each way so far.
    """

    def __init__(self, to_port):
        self.cuts = 0
        self.passed = {UP: 0, DOWN: 0}
        self._to_port = to_port
        self.left = {UP: inf, DOWN: inf}
        self.held = set()
        self.ends = []
        self._holds = self._away = False
        self._reaching = None
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, name="proxy", daemon=True)
        self._thread.start()
        self._server = asyncio.run_coroutine_threadsafe(
            self._loop.create_server(self._taken, "127.0.0.1", 0), self._loop
        ).result(10)
        self.port = self._server.sockets[0].getsockname()[1]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def cut_after(self, count, way=UP):
        """Cut the connection after the next `count` bytes in this direction."""
        self._call(self.left.update, {way: count})

    def hold_after(self, count):
        """Let nothing up after the next `count` bytes; what has passed arrives, and then `away`."""
        self._holds = True
        self._call(self.left.update, {UP: count})

    def hold(self, *ways):
        """Let nothing through in these directions, without closing anything."""
        self._call(self._hold, set(ways))

    def away(self):
        """Cut all connections and refuse new ones."""
        self._away = True
        self._call(self._cut_all)

    def back(self):
        """Be a good network again."""
        self._away = False
        self._call(self.left.update, {UP: inf, DOWN: inf})
        self.hold()

    def close(self):
        asyncio.run_coroutine_threadsafe(self._end(), self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    # --- in its own thread ---------------------------------------------------------------------

    def _call(self, what, *arguments):
        done = threading.Event()
        self._loop.call_soon_threadsafe(what, *arguments)
        self._loop.call_soon_threadsafe(done.set)
        assert done.wait(10)

    def _taken(self):
        """The protocol of a new client; it makes no tasks, so that none outlive a test."""
        return _End(self, UP)

    def reach(self, near):
        """Connect a client's end to the server, or cut it."""
        try:
            if self._away:
                raise ConnectionRefusedError
            far = socket.create_connection(("127.0.0.1", self._to_port))
        except OSError:
            near.transport.abort()
            return
        self._reaching = self._loop.create_task(
            self._loop.create_connection(lambda: _End(self, DOWN, near), sock=far)
        )

    def soon(self, what):
        """Call `what` before anything more is read."""
        self._loop.call_soon(what)

    def spent(self, end):
        """Cut the connection of this end, or hold what still comes up."""
        self.left[end.way] = inf
        if self._holds:
            self._holds = False
            self._hold({UP})
        else:
            end.cut()

    async def _end(self):
        # Python 3.11 forgets the socket of a client being taken if the server is closed meanwhile.
        while under_way := asyncio.all_tasks() - {asyncio.current_task()}:
            await asyncio.wait(under_way)
        self._server.close()
        self._cut_all()
        await asyncio.sleep(0)  # a transport leaves its socket at the loop's next turn

    def _hold(self, ways):
        self.held = ways
        for end in self.ends:
            end.flow()

    def _cut_all(self):
        for end in list(self.ends):
            end.cut()


class _End(asyncio.Protocol):
    """One side of a connection; it forwards what it receives to the other side."""

    def __init__(self, proxy, way, other=None):
        self._proxy, self.way, self.other = proxy, way, other

    def connection_made(self, transport):
        self.transport = transport
        if self.way == UP:
            self._proxy.ends.append(self)
            self._proxy.reach(self)
        elif self.other in self._proxy.ends:
            self._proxy.ends.append(self)
            self.other.other = self
            self.other.flow()
        else:  # the client's side was cut meanwhile
            transport.abort()
        # Python 3.11 ignores a pause in this method, because it starts to read afterwards.
        self._proxy.soon(self.flow)

    def flow(self):
        """Read or pause, as the network is now."""
        if self.way in self._proxy.held or self.other is None:
            self.transport.pause_reading()
        else:
            self.transport.resume_reading()

    def data_received(self, data):
        left = self._proxy.left
        passed = data[: min(len(data), left[self.way])]
        left[self.way] -= len(passed)
        self._proxy.passed[self.way] += len(passed)
        self.other.transport.write(passed)
        if left[self.way] <= 0:
            self._proxy.spent(self)

    def connection_lost(self, _):
        self.cut()

    def cut(self):
        """End both sides at once."""
        if self not in self._proxy.ends:
            return
        self._proxy.cuts += 1
        for end in filter(None, (self, self.other)):
            self._proxy.ends.remove(end)
            end.transport.abort()
