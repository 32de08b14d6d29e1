"""A bad network on loopback: passes bytes on, until it is told to cut them off or to hold them."""

import asyncio
import socket
import threading
from math import inf

__all__ = ["DOWN", "UP", "Proxy"]

#: From a client to the server, and back.
UP, DOWN = "up", "down"


class Proxy:
    """Stands between clients and a port of this machine, with a thread of its own.

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
        self._away = False
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
        """Cut the connection over which the next `count` bytes have gone this way."""
        self._call(self.left.update, {way: count})

    def hold(self, *ways):
        """Let nothing through these ways, and tell nobody."""
        self._call(self._hold, set(ways))

    def away(self):
        """Cut all connections, and refuse others from now on."""
        self._away = True
        self._call(self._cut_all)

    def back(self):
        """Be a good network again."""
        self._away = False
        self._call(self.left.update, {UP: inf, DOWN: inf})
        self.hold()

    def close(self):
        self._call(self._server.close)
        self._call(self._cut_all)
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
        """What speaks with a client that came; no tasks, so that a test leaves none behind."""
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
        """Call it before anything more is read."""
        self._loop.call_soon(what)

    def _hold(self, ways):
        self.held = ways
        for end in self.ends:
            end.flow()

    def _cut_all(self):
        for end in list(self.ends):
            end.cut()


class _End(asyncio.Protocol):
    """One side of a connection; what it hears goes one way, to the other side."""

    def __init__(self, proxy, way, other=None):
        self._proxy, self._way, self.other = proxy, way, other

    def connection_made(self, transport):
        self.transport = transport
        if self._way == UP:
            self._proxy.ends.append(self)
            self._proxy.reach(self)
        elif self.other in self._proxy.ends:
            self._proxy.ends.append(self)
            self.other.other = self
            self.other.flow()
        else:  # the client's end was cut meanwhile
            transport.abort()
        # Python up to 3.11 forgets a pause that is asked for in here: it begins to read afterwards.
        self._proxy.soon(self.flow)

    def flow(self):
        """Hear, or don't, as the network is now."""
        if self._way in self._proxy.held or self.other is None:
            self.transport.pause_reading()
        else:
            self.transport.resume_reading()

    def data_received(self, data):
        left = self._proxy.left
        passed = data[: min(len(data), left[self._way])]
        left[self._way] -= len(passed)
        self._proxy.passed[self._way] += len(passed)
        self.other.transport.write(passed)
        if left[self._way] <= 0:
            left[self._way] = inf
            self.cut()

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
