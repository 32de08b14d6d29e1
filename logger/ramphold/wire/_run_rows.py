"""A run's own rows as texts, and the hash that its record in the chain holds of them."""

import hashlib
from collections.abc import Iterator

from msgspec import Struct

__all__ = ["RunRows"]


class RunRows(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a run was given and what followed, each JSON text as it is kept.

    Attributes:
        plan: what it was meant to do.
        started_t_ns, ended_t_ns: monotonic time in ns.
        commands: how many readings came before it, its time in ns, the command.
        events: time in ns, kind, the event.
        assessment: what it was judged to be; empty where it was interrupted.
    """

    plan: str
    started_t_ns: int
    ended_t_ns: int
    commands: tuple[tuple[int, int, str], ...] = ()
    events: tuple[tuple[int, str, str], ...] = ()
    assessment: str = ""

    def sha256(self) -> str:
        """SHA-256 in hex of a line for each of them, with tabs between."""
        digest = hashlib.sha256()
        for row in self._lines():
            digest.update(("\t".join(map(str, row)) + "\n").encode())
        return digest.hexdigest()

    def _lines(self) -> Iterator[tuple[object, ...]]:
        yield self.plan, self.started_t_ns, self.ended_t_ns
        yield from self.commands
        yield from self.events
        yield (self.assessment,)
