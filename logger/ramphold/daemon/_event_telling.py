"""The events of a run, told in order and once."""

from collections.abc import Callable, Sequence
from typing import Any

from ramphold.control.act import Topic
from ramphold.control.run_methods import ON_EVENT, RunEvent
from ramphold.core import Event

#: Sends the payload of a topic to its subscribers.
Tell = Callable[[Topic[Any], Any], None]


class EventTeller:
    """Numbers the events of one run after the other, and tells them when it is asked to."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._told = 0
        self._untold: list[Event] = []

    def begin(self, told: int = 0) -> None:
        """Tell another run from now on, of which so many events were told before."""
        self._told, self._untold = told, []

    def keep(self, events: Sequence[Event]) -> None:
        """Take events that happened."""
        self._untold += events

    def tell(self, run: int) -> None:
        """Tell what is not told yet."""
        untold, self._untold = self._untold, []
        for event in untold:
            self._tell(ON_EVENT, RunEvent.of(run, self._told, event))
            self._told += 1
