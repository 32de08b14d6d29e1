"""A queue between tasks in which a newer message may replace an older one."""

import asyncio
from typing import Generic, TypeVar

from ramphold.errors import LinkError

M = TypeVar("M")


class Mailbox(Generic[M]):
    """A queue for one reader. Putting never waits, so a slow reader delays nobody."""

    def __init__(self) -> None:
        self._waiting: dict[object, tuple[M, int]] = {}
        self._changed = asyncio.Event()
        self._end: str | None = None
        self.kept_size = 0

    def __bool__(self) -> bool:
        """Whether messages wait."""
        return bool(self._waiting)

    def put(self, message: M, *, replaces: str | None = None, size: int = 0) -> None:
        """Add a message.

        Args:
            message: what to hand over.
            replaces: name under which a later message replaces this one; None keeps it.
            size: what it adds to `kept_size` while it waits, if it is kept.
        """
        if self._end is not None:
            return
        key: object = object() if replaces is None else replaces
        kept = size if replaces is None else 0
        # The newer message goes to the end: it must not overtake what happened before it.
        self._waiting.pop(key, None)
        self._waiting[key] = (message, kept)
        self.kept_size += kept
        self._changed.set()

    def close(self, reason: str) -> None:
        """Accept no more messages; those that wait can still be read, then `get` raises."""
        self._end = reason if self._end is None else self._end
        self._changed.set()

    async def get(self) -> M:
        """The next message.

        Raises:
            LinkError: when closed and empty.
        """
        while not self._waiting:
            if self._end is not None:
                raise LinkError(self._end)
            self._changed.clear()
            await self._changed.wait()
        key = next(iter(self._waiting))
        message, kept = self._waiting.pop(key)
        self.kept_size -= kept
        return message
