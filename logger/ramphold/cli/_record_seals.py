"""Seals issued reports and exported traces: into the file, or into one beside it."""

import time
from collections.abc import Sequence
from hashlib import sha256
from itertools import count
from pathlib import Path

from msgspec import Struct

from ramphold.cli._common import read_bytes
from ramphold.cli._database_options import open_database
from ramphold.errors import InputError
from ramphold.keys.record_seal import RecordSeal
from ramphold.keys.sealed_file import issued_bytes, may_carry_seal, seal_lines
from ramphold.store.record_seals import RecordSeals

# The daemon signs within a second; a receipt takes a little longer.
_STEP_S, _PATIENCE = 0.2, 20


class Sealed(Struct, frozen=True, kw_only=True):
    """What became of a file.

    Attributes:
        file: its name.
        record: the record that names it by its SHA-256.
        signed: whether the bench has signed that record; only then the file is sealed.
        witnessed: whether a collector's receipt covers it, too.
    """

    file: str
    record: int
    signed: bool
    witnessed: bool

    @property
    def text(self) -> str:
        """The line to print."""
        if not self.signed:
            return f"no seal: the bench has not signed record {self.record} (`ramphold check`)"
        end = "" if self.witnessed else "; no collector's receipt yet: `ramphold seal` adds it"
        return f"sealed {self.file}, record {self.record}{end}"


def seal_files(
    files: Sequence[Path], db: Path | None, config: Path | None, *, wait: bool = False
) -> list[Sealed]:
    """Seal files by the records that name them.

    Args:
        files: issued reports and exported traces; a seal that is there is replaced.
        db: the database.
        config: a bench.toml that names it, instead.
        wait: for the daemon to sign what was recorded just now, and for a receipt if a collector
            has given one before.

    Raises:
        InputError: no record names a file, or it can't be read or written.
        StoreError: the database can't be read, or is not what was signed.
    """
    for waited in count():
        with open_database(db, config) as store, store.snapshot():
            seals = RecordSeals(store)
            found = [(path, *_seal_of(seals, path)) for path in files]
            collected = store.heads.newest("receipt") is not None
        there = [seal for _, _, seal in found if seal is not None]
        signed = len(there) == len(found)
        witnessed = not collected or all(one.receipt for one in there)
        if not wait or (signed and witnessed) or waited >= _PATIENCE:
            break
        time.sleep(_STEP_S)
    return [_write(*one) for one in found]


def write_sealed(path: Path, seal: RecordSeal) -> None:
    """Write a seal into a report, or beside another file.

    Raises:
        InputError: it can't be written.
    """
    content, target = read_bytes(path), path
    if may_carry_seal(content):
        issued = issued_bytes(content)
        content = issued + seal_lines(issued, seal)
    else:
        target, content = seal_beside(path), seal.text().encode() + b"\n"
    part = target.with_name(target.name + ".part")
    try:
        part.write_bytes(content)
        part.replace(target)
    except OSError as error:
        raise InputError(f"{target} can't be written: {error.strerror}") from None


def seal_beside(path: Path) -> Path:
    """The file of a seal that does not stand in the file itself."""
    return path.with_name(path.name + ".seal")


def _seal_of(seals: RecordSeals, path: Path) -> tuple[int, RecordSeal | None]:
    content = read_bytes(path)
    issued = issued_bytes(content) if may_carry_seal(content) else content
    digest = sha256(issued).hexdigest()
    if (record := seals.record_of(digest)) is None:
        raise InputError(
            f"{path}: no record names a file with the SHA-256 {digest}: expected an issued report "
            "or an exported trace of this bench, unchanged"
        )
    return record, seals.of(record)


def _write(path: Path, record: int, seal: RecordSeal | None) -> Sealed:
    if seal is not None:
        write_sealed(path, seal)
    witnessed = seal is not None and seal.receipt is not None
    return Sealed(file=str(path), record=record, signed=seal is not None, witnessed=witnessed)
