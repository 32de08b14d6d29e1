"""A process that reads what arrives. What a stranger may have sent is read nowhere else.

Its memory is limited, and so is the processor time of each message. A message at which the process
ends is *poison*: it is refused, and not read again by this version of the program. The process ends
with its parent, however that ends.

A second process also halves the time: Python runs one thread at a time, and unpacking a run takes
as long as everything else.
"""

import asyncio
import ctypes
import logging
import math
import multiprocessing
import os
import resource
import signal
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from multiprocessing.connection import Connection
from typing import Any, NamedTuple, TypeAlias

from ramphold.collector._message_check import (
    CheckedMessage,
    RefusedMessage,
    check_message,
    digest,
    refused_message,
)

_log = logging.getLogger("ramphold.collector")

# Of the checking process: what it allocates, and what one message may cost. The largest run that is
# accepted takes a tenth of that time.
_MEMORY_BYTES = 160 * 1024 * 1024
_CPU_S = 3
# The rest of a batch is given back after this time, so that others come between.
_BATCH_S = 0.5
# A process that does not answer for so long is stuck.
_ANSWER_S = 60.0
_PR_SET_PDEATHSIG = 1
_MOST_POISON = 10_000

#: Topic and payload of a message.
Message: TypeAlias = tuple[str, bytes]
#: Signals by which others end a process.
_FROM_OUTSIDE = {-signal.SIGKILL, -signal.SIGTERM}


class Checked(NamedTuple):
    """What a message is, and the time in s that its check took."""

    message: CheckedMessage
    spent_s: float


class CheckProcess:
    """Checks messages, in the order they are given."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="checking")
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._progress: Connection | None = None
        self._poison: dict[str, None] = {}
        self._suspect = ""
        self._closing = False

    def start(self) -> None:
        """Start the process before the first message arrives."""
        self._pool.submit(self._open)

    def know(self, poison: Iterable[str]) -> None:
        """Never read messages of these digests."""
        self._poison |= dict.fromkeys(poison)

    def check(self, messages: Sequence[Message]) -> asyncio.Future[list[Checked | None]]:
        """Check messages; None for one that was not reached, and is to be given again."""
        return asyncio.get_running_loop().run_in_executor(self._pool, self._check, messages)

    async def aclose(self) -> None:
        """End the process at once, in the middle of a message too."""
        self._closing = True
        if self._process is not None:
            self._process.kill()
        await asyncio.get_running_loop().run_in_executor(self._pool, self._close)
        self._pool.shutdown()

    # --- inside: in the pool's one thread ---------------------------------------------------------

    def _check(self, messages: Sequence[Message]) -> list[Checked | None]:
        found: list[Checked | None] = [None] * len(messages)
        unknown = []
        for index, message in enumerate(messages):
            if self._poison and digest(*message) in self._poison:
                found[index] = Checked(_poison(message, "it ended the checking process before"), 0)
            else:
                unknown.append(index)
        if unknown:
            answers = self._answers([messages[index] for index in unknown])
            for index, answer in zip(unknown, answers, strict=False):
                found[index] = answer
        return found

    def _answers(self, messages: Sequence[Message]) -> Sequence[Checked | None]:
        began_s = time.perf_counter()
        try:
            pipe = self._open()
            pipe.send(messages)
            if not pipe.poll(_ANSWER_S):
                raise TimeoutError(f"no answer within {_ANSWER_S:.0f} s")
            answers: list[Checked] = pipe.recv()
        except (OSError, EOFError) as error:
            if self._closing:
                return []
            reached, ended = self._reached(), self._close()
            _log.warning("the checking process is gone and is started again: %s", ended or error)
            return self._blamed(messages, reached, ended, time.perf_counter() - began_s)
        self._reached()
        self._suspect = ""
        return [
            self._with_payload(message, answer)
            for message, answer in zip(messages, answers, strict=False)
        ]

    def _with_payload(self, message: Message, answer: Checked) -> Checked:
        refused = answer.message
        if not isinstance(refused, RefusedMessage):
            return answer
        if refused.poison:
            self._remember(message)
        return answer._replace(message=replace(refused, payload=message[1]))

    def _blamed(
        self, messages: Sequence[Message], reached: int, ended: int | None, spent_s: float
    ) -> Sequence[Checked | None]:
        """The refusal of the message at which the process ended, unless it was ended by others."""
        if not reached or ended is None:
            return []
        message = messages[reached - 1]
        before, self._suspect = self._suspect, digest(*message)
        # Killed from outside, it may be innocent: once.
        if ended in _FROM_OUTSIDE and before != self._suspect:
            return []
        self._remember(message)
        why = f"the checking process ended at it: {_how(ended)}"
        return [*[None] * (reached - 1), Checked(_poison(message, why), spent_s)]

    def _remember(self, message: Message) -> None:
        if len(self._poison) >= _MOST_POISON:
            self._poison.pop(next(iter(self._poison)))
        self._poison[digest(*message)] = None

    def _open(self) -> Connection:
        if self._pipe is None:
            # Not forked: this process has threads.
            context = multiprocessing.get_context("spawn")
            ours, theirs = context.Pipe()
            progress, steps = context.Pipe(duplex=False)
            process = context.Process(target=_serve, args=(theirs, steps, os.getpid()), daemon=True)
            try:
                process.start()
            except BaseException:
                ours.close()
                progress.close()
                raise
            finally:
                theirs.close()
                steps.close()
            self._pipe, self._progress, self._process = ours, progress, process
        return self._pipe

    def _reached(self) -> int:
        """How many messages of the batch the process has begun."""
        count = 0
        if self._progress is not None:
            try:
                while self._progress.poll():
                    count += len(self._progress.recv_bytes())
            except (OSError, EOFError):
                pass
        return count

    def _close(self) -> int | None:
        """End the process; its exit status, negative for a signal, None without a process."""
        if self._pipe is None or self._progress is None or self._process is None:
            return None
        self._pipe.close()
        self._progress.close()
        # It may hang in a message that never ends.
        self._process.join(0.5)
        self._process.kill()
        self._process.join()
        ended = self._process.exitcode
        self._pipe = self._progress = self._process = None
        return ended


def check_safely(topic: str, payload: bytes) -> CheckedMessage:
    """What a message is, whatever its check raises."""
    try:
        return check_message(topic, payload)
    except Exception as error:  # noqa: BLE001 - one message must not stop the others
        return _poison((topic, payload), f"it can't be checked: {type(error).__name__}: {error}")


def _poison(message: Message, why: str) -> RefusedMessage:
    return replace(refused_message(*message, why), poison=True)


def _how(ended: int) -> str:
    match -ended:
        case signal.SIGXCPU:
            return f"it takes more than {_CPU_S} s"
        case number if number > 0:
            return signal.Signals(number).name
    return f"exit status {ended}"


# --- in the process ------------------------------------------------------------------------------


def _serve(pipe: Connection, steps: Connection, parent: int) -> None:
    _end_with(parent)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _limit(resource.RLIMIT_CORE, 0)
    _limit(resource.RLIMIT_DATA, _MEMORY_BYTES)
    while True:
        try:
            messages: Sequence[Message] = pipe.recv()
        except EOFError:
            return
        pipe.send(_checked(messages, lambda: steps.send_bytes(b".")))


def _checked(messages: Sequence[Message], step: Callable[[], Any]) -> list[Checked]:
    """As many of the messages as the time of a batch allows, in order."""
    checked: list[Checked] = []
    began_s = now_s = time.perf_counter()
    for topic, payload in messages:
        if now_s - began_s > _BATCH_S:
            break
        step()
        _limit(resource.RLIMIT_CPU, math.ceil(time.process_time()) + _CPU_S)
        found = check_safely(topic, payload)
        if isinstance(found, RefusedMessage):
            # The parent has it.
            found = replace(found, payload=b"")
        before_s, now_s = now_s, time.perf_counter()
        checked.append(Checked(found, now_s - before_s))
    return checked


def _limit(kind: int, most: int) -> None:
    """Lower a limit of this process, and leave the greatest allowed one as it is."""
    _, hard = resource.getrlimit(kind)
    resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


def _end_with(parent: int) -> None:
    """Have the kernel end this process with its parent, also in the middle of a message."""
    prctl = getattr(ctypes.CDLL(None), "prctl", None)
    if prctl is not None:
        prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:
        raise SystemExit
