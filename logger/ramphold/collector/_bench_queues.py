"""What has arrived and is not yet checked, a queue for each bench. Pure: times are given, in s.

The bench whose messages have cost least time is next, so one bench's noise delays no other by more
than the message that is being checked. A bench is *noisy* while what was refused of it has cost
more time than what was good. Of a noisy bench only a few messages wait; the rest is dropped unread,
since the broker delivers nothing to a receiver that is full. No record is lost by that: without a
receipt its bench sends it again.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

from ramphold.publish.mqtt import MessageArrived

_MOST_MESSAGES, _MOST_BYTES = 200, 4 * 1024 * 1024
_MOST_NOISY_MESSAGES, _MOST_NOISY_BYTES = 16, 2 * 1024 * 1024
# Filing costs time too, which nobody takes message by message: so much each, and for a megabyte.
_COST_S, _COST_S_PER_BYTE = 1e-4, 2e-8
_SAVED_S = 1.0
# Older times than these count half.
_REMEMBERED_S = 10.0
_MOST_BENCHES = 1000


@dataclass(slots=True)
class _Queue:
    """A bench's messages, and the time in s that its messages have cost: all, good and refused."""

    messages: deque[MessageArrived] = field(default_factory=deque)
    held: int = 0
    spent_s: float = 0.0
    good_s: float = 0.0
    refused_s: float = 0.0

    @property
    def noisy(self) -> bool:
        return self.refused_s > self.good_s

    def pop(self) -> MessageArrived:
        self.held -= len(self.messages[0].payload)
        return self.messages.popleft()


class BenchQueues:
    """Messages by the bench that its topic names."""

    def __init__(self) -> None:
        self._queues: dict[str, _Queue] = {}

    def __bool__(self) -> bool:
        return any(one.messages for one in self._queues.values())

    def clear(self) -> None:
        """Forget every message, but not what each bench has cost."""
        for one in self._queues.values():
            one.messages.clear()
            one.held = 0

    def add(self, message: MessageArrived) -> list[MessageArrived]:
        """Add a message; returns what is dropped for it."""
        queue = self._of(sender(message.topic))
        if not queue.messages:
            # A bench that was quiet comes first, but has not saved up time for a flood.
            queue.spent_s = max(queue.spent_s, self._least_s() - _SAVED_S)
        queue.messages.append(message)
        queue.held += len(message.payload)
        return self._surplus(queue)

    def give_back(self, messages: Sequence[MessageArrived]) -> None:
        """Put messages that were taken, and not checked, in front of their queues again."""
        for message in reversed(messages):
            queue = self._of(sender(message.topic))
            queue.messages.appendleft(message)
            queue.held += len(message.payload)

    def cost(
        self, message: MessageArrived, spent_s: float, *, refused: bool
    ) -> list[MessageArrived]:
        """Note what the check of a message has cost; returns what is dropped of a noisy bench."""
        queue = self._of(sender(message.topic))
        spent_s += _COST_S + len(message.payload) * _COST_S_PER_BYTE
        queue.spent_s += spent_s
        if refused:
            queue.refused_s += spent_s
        else:
            queue.good_s += spent_s
        if queue.refused_s + queue.good_s > _REMEMBERED_S:
            queue.refused_s, queue.good_s = queue.refused_s / 2, queue.good_s / 2
        return self._surplus(queue)

    def take(self) -> list[MessageArrived]:
        """The next messages to check together, those of the benches that have cost least first.

        A noisy bench's message comes alone: it may end the process that checks it.
        """
        waiting = sorted(
            (one for one in self._queues.values() if one.messages), key=lambda one: one.spent_s
        )
        if waiting and waiting[0].noisy:
            return [waiting[0].pop()]
        taken: list[MessageArrived] = []
        size = 0
        quiet = [one for one in waiting if not one.noisy]
        while quiet:
            for queue in quiet:
                if taken and size + len(queue.messages[0].payload) > _MOST_BYTES:
                    return taken
                size += len(queue.messages[0].payload)
                taken.append(queue.pop())
                if len(taken) == _MOST_MESSAGES:
                    return taken
            quiet = [one for one in quiet if one.messages]
        return taken

    def _of(self, bench: str) -> _Queue:
        if bench not in self._queues and len(self._queues) >= _MOST_BENCHES:
            self._queues = {name: one for name, one in self._queues.items() if one.messages}
        return self._queues.setdefault(bench, _Queue())

    def _least_s(self) -> float:
        return min((one.spent_s for one in self._queues.values() if one.messages), default=0.0)

    @staticmethod
    def _surplus(queue: _Queue) -> list[MessageArrived]:
        dropped = []
        while queue.noisy and (
            len(queue.messages) > _MOST_NOISY_MESSAGES
            or (queue.held > _MOST_NOISY_BYTES and len(queue.messages) > 1)
        ):
            dropped.append(queue.messages.pop())
            queue.held -= len(dropped[-1].payload)
        return dropped


def sender(topic: str) -> str:
    """The bench that a topic names, whose account alone may write there; empty if it names none."""
    return ([*topic.split("/"), "", "", ""])[2][:64]
