"""A bad network on loopback: passes bytes on, until it is told to cut them off or to hold them."""

import asyncio
import contextlib
import threading
from math import inf

__all__ = ["DOWN", "UP", "Proxy"]

#: From a client to the server, and back.
UP, DOWN = "up", "down"


class Proxy:
    """Stands between clients and a port of this machine, with a thread of its own.

    Attributes:
        port: where clients connect.
        cuts: how many connections it has cut.
    """

    def __init__(self, to_port):
        self.cuts = 0
        self._to_port = to_port
        self._loop = asyncio.new_event_loop()
        self._left = {UP: inf, DOWN: inf}
        self._open = {UP: asyncio.Event(), DOWN: asyncio.Event()}
        self._away = False
        self._connections = set()
        self._thread = threading.Thread(target=self._loop.run_forever, name="proxy")
        self._thread.start()
        self._server = self._call(asyncio.start_server, self._serve, "127.0.0.1", 0)
        self.port = self._server.sockets[0].getsockname()[1]
        self.back()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def cut_after(self, count, way=UP):
        """Cut the connection over which the next `count` bytes have gone this way."""
        self._left[way] = count

    def hold(self, *ways):
        """Let nothing through these ways, and tell nobody."""
        self._call(self._set, ways)

    def away(self):
        """Cut all connections, and refuse others from now on."""
        self._away = True
        self._call(self._cut_all)

    def back(self):
        """Be a good network again."""
        self._away = False
        self._left = {UP: inf, DOWN: inf}
        self.hold()

    def close(self):
        self._call(self._end)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    # --- in its own thread ---------------------------------------------------------------------

    def _call(self, what, *arguments):
        return asyncio.run_coroutine_threadsafe(what(*arguments), self._loop).result(10)

    async def _set(self, held):
        for way, gate in self._open.items():
            (gate.clear if way in held else gate.set)()

    async def _cut_all(self):
        for task in list(self._connections):
            task.cancel()
        await asyncio.gather(*self._connections, return_exceptions=True)

    async def _end(self):
        self._server.close()
        await self._cut_all()

    async def _serve(self, reader, writer):
        task = asyncio.current_task()
        self._connections.add(task)
        try:
            if not self._away:
                await self._connect(reader, writer)
        except asyncio.CancelledError:
            pass  # cut: nobody waits for this task but `_cut_all`
        finally:
            self._connections.discard(task)
            writer.transport.abort()

    async def _connect(self, reader, writer):
        try:
            far_reader, far_writer = await asyncio.open_connection("127.0.0.1", self._to_port)
        except OSError:
            return
        ways = (
            asyncio.create_task(self._pass_on(UP, reader, far_writer)),
            asyncio.create_task(self._pass_on(DOWN, far_reader, writer)),
        )
        try:
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
        finally:
            self.cuts += 1
            for way in ways:
                way.cancel()
            await asyncio.gather(*ways, return_exceptions=True)
            far_writer.transport.abort()

    async def _pass_on(self, way, reader, writer):
        with contextlib.suppress(OSError):
            while data := await reader.read(65536):
                await self._open[way].wait()
                passed = data[: min(len(data), self._left[way])]
                self._left[way] -= len(passed)
                writer.write(passed)
                await writer.drain()
                if self._left[way] <= 0:
                    self._left[way] = inf
                    await asyncio.sleep(0.01)  # lets what was passed out before the cut
                    return
