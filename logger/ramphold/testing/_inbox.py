"""Collects what callbacks in other threads receive, for a test to wait for."""

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Inbox(Generic[T]):
    """Keeps its items in order; a test waits until they satisfy a condition."""

    def __init__(self) -> None:
        self._items: list[T] = []
        self._changed = threading.Condition()

    def put(self, item: T) -> None:
        """Add an item; use this as the callback."""
        with self._changed:
            self._items.append(item)
            self._changed.notify_all()

    @property
    def items(self) -> list[T]:
        """All items so far."""
        with self._changed:
            return list(self._items)

    def wait_for(self, satisfied: Callable[[list[T]], bool], timeout_s: float = 3.0) -> list[T]:
        """Wait until the items satisfy a condition, and return them.

        Raises:
            AssertionError: they did not in time.
        """
        with self._changed:
            done = self._changed.wait_for(lambda: satisfied(self._items), timeout_s)
            assert done, f"after {timeout_s} s there is only {self._items}"  # noqa: S101
            return list(self._items)
