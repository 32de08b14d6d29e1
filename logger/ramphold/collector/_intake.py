"""What has arrived over the line to the broker, on its way through the checking process."""

import asyncio
import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ramphold.collector._bench_queues import BenchQueues, sender
from ramphold.collector._check_process import Checked, CheckProcess, Message
from ramphold.collector._message_check import CheckedMessage, RefusedMessage
from ramphold.collector._message_filing import IncomingMessage
from ramphold.publish.mqtt import MessageArrived


class Dropped(NamedTuple):
    """How many messages of a bench were dropped unread, and their bytes."""

    messages: int = 0
    size: int = 0


@dataclass(frozen=True, slots=True)
class CheckedBatch:
    """Messages that were checked together.

    Attributes:
        line: number of the line that they came over.
        arrived: the messages.
        messages: the same, as they are filed.
    """

    line: int
    arrived: tuple[MessageArrived, ...]
    messages: tuple[IncomingMessage, ...]


class Intake:
    """Messages wait here, are checked batch by batch, and are acknowledged once they are filed."""

    def __init__(self) -> None:
        self._queues = BenchQueues()
        self._checks = CheckProcess()
        self._line = 0
        self._dropped: dict[str, Dropped] = {}
        self._batch: list[MessageArrived] = []
        self._answers: asyncio.Future[list[Checked | None]] | None = None
        self.start, self.know, self.aclose = (
            self._checks.start, self._checks.know, self._checks.aclose,
        )  # fmt: skip

    def __bool__(self) -> bool:
        return bool(self._queues) or self._answers is not None

    def line_down(self) -> None:
        """Forget what came over the line that broke: the broker sends it again over the next.

        Over that, messages may arrive before it is told to be up.
        """
        self._line += 1
        self._queues.clear()
        self._batch = []

    def add(self, message: MessageArrived) -> None:
        """Take a message that has arrived."""
        self._drop(self._queues.add(message))

    def add_joined(self, messages: Iterable[Message]) -> None:
        """Take messages that were joined from their parts, each of which was acknowledged."""
        for topic, payload in messages:
            self.add(MessageArrived(topic=topic, payload=payload, ack=_nothing))

    def begin(self) -> bool:
        """Have the next messages checked; whether a check goes on."""
        if self._answers is None and (batch := self._queues.take()):
            self._batch = batch
            self._answers = self._checks.check([(one.topic, one.payload) for one in batch])
        return self._answers is not None

    async def checked(self) -> CheckedBatch:
        """The messages whose check goes on; none if the checking process did not answer."""
        if self._answers is None:
            return CheckedBatch(self._line, (), ())
        answers = await asyncio.shield(self._answers)
        self._answers = None
        # Empty if the line broke meanwhile.
        pairs = list(zip(self._batch, answers, strict=False))
        self._queues.give_back([one for one, answer in pairs if answer is None])
        done = [(one, answer) for one, answer in pairs if answer is not None]
        for one, answer in done:
            refused = isinstance(answer.message, RefusedMessage)
            self._drop(self._queues.cost(one, answer.spent_s, refused=refused))
        return CheckedBatch(
            self._line,
            tuple(one for one, _ in done),
            tuple(IncomingMessage(one.topic, one.payload, found.message) for one, found in done),
        )

    def acknowledge(self, batch: CheckedBatch) -> None:
        """Acknowledge messages that are filed, unless the line they came over is gone."""
        # The old packet numbers mean other messages now.
        if batch.line == self._line:
            for one in batch.arrived:
                one.ack()

    async def check_again(self, messages: Sequence[Message]) -> list[CheckedMessage]:
        """Check messages that have not just arrived, up to the first that is not answered."""
        answers = await self._checks.check(messages)
        return [one.message for one in itertools.takewhile(bool, answers) if one]

    def take_dropped(self) -> dict[str, Dropped]:
        """What was dropped since the last call, by bench."""
        dropped, self._dropped = self._dropped, {}
        return dropped

    def _drop(self, messages: Sequence[MessageArrived]) -> None:
        for one in messages:
            bench = sender(one.topic)
            count, size = self._dropped.get(bench, Dropped())
            self._dropped[bench] = Dropped(count + 1, size + len(one.payload))
            one.ack()


def _nothing() -> None:
    """Acknowledge nothing."""
