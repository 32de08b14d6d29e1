"""What callbacks of other threads hand over, for a test to wait for."""

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

__all__ = ["Inbox"]

T = TypeVar("T")


class Inbox(Generic[T]):
    """Keeps all it is given, in order; a test waits until what it holds satisfies it."""

    def __init__(self) -> None:
        self._items: list[T] = []
        self._changed = threading.Condition()

    def put(self, item: T) -> None:
        """Take one; this is the callback."""
        with self._changed:
            self._items.append(item)
            self._changed.notify_all()

    @property
    def items(self) -> list[T]:
        """All that came so far."""
        with self._changed:
            return list(self._items)

    def wait_for(self, satisfied: Callable[[list[T]], bool], timeout_s: float = 3.0) -> list[T]:
        """All that came, as soon as it satisfies.

        Raises:
            AssertionError: it did not within the time.
        """
        with self._changed:
            done = self._changed.wait_for(lambda: satisfied(self._items), timeout_s)
            assert done, f"after {timeout_s} s there is only {self._items}"  # noqa: S101
            return list(self._items)
