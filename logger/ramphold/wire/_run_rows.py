"""The rows of a run as texts, and their hash in the record of the run."""

import hashlib
from collections.abc import Iterator
from typing import Annotated, TypeAlias

from msgspec import Meta, Struct

Int64: TypeAlias = Annotated[int, Meta(ge=-(2**63), le=2**63 - 1)]


class RunRows(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The inputs and results of a run; plan, commands, events and assessment are JSON as stored.

    Attributes:
        plan: the plan.
        started_t_ns, ended_t_ns: monotonic time in ns.
        commands: of each, the number of readings before it, its time in ns, and the command.
        events: of each, its time in ns, its kind, and the event.
        assessment: the assessment; empty for an interrupted run.
    """

    plan: str
    started_t_ns: Int64
    ended_t_ns: Int64
    commands: tuple[tuple[Int64, Int64, str], ...] = ()
    events: tuple[tuple[Int64, str, str], ...] = ()
    assessment: str = ""

    def sha256(self) -> str:
        """SHA-256 in hex of one line for each row, its values separated by tabs."""
        digest = hashlib.sha256()
        for row in self._lines():
            digest.update(("\t".join(map(str, row)) + "\n").encode())
        return digest.hexdigest()

    def _lines(self) -> Iterator[tuple[object, ...]]:
        yield self.plan, self.started_t_ns, self.ended_t_ns
        yield from self.commands
        yield from self.events
        yield (self.assessment,)
