"""A hash of what was committed of a run, compared with what the database gives back."""

import contextlib
import hashlib
from collections.abc import Sequence
from functools import partial
from typing import Self

import msgspec

from ramphold.core import Command, Event, Reading
from ramphold.errors import StoreDamaged, StoreError
from ramphold.store import Store
from ramphold.store.file_damage import RunInput, read_back, run_input

_encode = msgspec.json.Encoder().encode_lines


class RunDigest:
    """SHA-256 over readings, commands and events, each in the order they came."""

    def __init__(self) -> None:
        self._hashes = tuple(hashlib.sha256() for _ in range(3))

    @classmethod
    def of(cls, rows: RunInput) -> Self:
        """The digest of all of a run."""
        made = cls()
        made.take(*rows)
        return made

    def take(
        self,
        readings: Sequence[Reading],
        commands: Sequence[tuple[int, int, Command]],
        events: Sequence[Event],
    ) -> None:
        """Take what follows, in parts of any size."""
        # A zero has one sign once it was kept.
        rows = [
            (one.t_ns, one.force_lbf + 0.0, one.quality, one.raw, one.exponent, one.unit, one.line)
            for one in readings
        ]
        for made, part in zip(self._hashes, (rows, commands, events), strict=True):
            made.update(_encode(part))

    def __eq__(self, other: object) -> bool:
        """Whether both took the same."""
        return isinstance(other, RunDigest) and self._values() == other._values()

    __hash__ = None  # type: ignore[assignment] # it goes on changing

    def _values(self) -> list[bytes]:
        return [one.digest() for one in self._hashes]


def committed_in_file(store: Store, run: int, digest: RunDigest) -> None:
    """Check that the file has what was committed of a run, whatever is in memory.

    Raises:
        StoreDamaged: it has not.
    """
    if RunDigest.of(read_back(store.path, run)) != digest:
        raise StoreDamaged(
            f"{store.path}: is damaged (run {run} reads back otherwise than it was written): "
            "set it aside and restore a copy"
        )


def committed(store: Store, run: int, digest: RunDigest) -> RunInput:
    """What was committed of a run, out of a damaged database.

    Raises:
        StoreDamaged: it can't be read any more.
    """
    # What the file has lost may still be in memory, or the other way about.
    for rows_of in (partial(run_input, store, run), partial(read_back, store.path, run)):
        with contextlib.suppress(StoreError):
            rows = rows_of()
            if RunDigest.of(rows) == digest:
                return rows
    raise StoreDamaged(f"{store.path}: what was committed of run {run} can't be read any more")
