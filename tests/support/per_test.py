"""Tests that are coroutines, each with something opened for it alone."""

import asyncio


def with_opened(opened):
    """A decorator for a test's coroutine, which is given what `opened` yields for its folder.

    Args:
        opened: an asynchronous context manager of a folder.
    """

    def decorate(test):
        def run(tmp_path):
            async def body():
                async with opened(tmp_path) as made:
                    await test(made)

            asyncio.run(body())

        run.__name__ = test.__name__
        return run

    return decorate
