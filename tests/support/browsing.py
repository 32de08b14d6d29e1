"""Asks the laboratory's page as a browser does, without a network."""

import asyncio
import contextlib
import threading

import httpx

from ramphold.browse._hooks import site_of
from ramphold.browse.serving import laboratory

LOCAL = "http://127.0.0.1:8321"


@contextlib.contextmanager
def asked(config, base=LOCAL):
    """A function that sends a request through the whole application, and returns the answer."""
    found = laboratory(config)
    app = found.app()
    start_readers(site_of(found)._readers)
    with asyncio.Runner() as runner:

        def ask(path="", method="GET", **more):
            async def send():
                transport = httpx.ASGITransport(app)
                async with httpx.AsyncClient(transport=transport, base_url=base) as client:
                    url = path if path.startswith("/") else f"/laboratory{'/' * bool(path)}{path}"
                    return await client.request(method, url, **more)

            return runner.run(send())

        try:
            yield ask
        finally:
            runner.run(closed(app))


def start_readers(pool):
    """Start every thread of a pool now, so that none begins within a test."""
    together = threading.Barrier(pool._max_workers + 1)
    for _ in range(pool._max_workers):
        pool.submit(together.wait)
    together.wait()


async def closed(app):
    """Tell the application that the server ends, as ASGI has it."""
    waiting = [{"type": "lifespan.startup"}, {"type": "lifespan.shutdown"}]

    async def receive():
        return waiting.pop(0)

    async def send(_message):
        pass

    await app({"type": "lifespan", "asgi": {"version": "3.0"}}, receive, send)
