"""Writes what `ramphold setup` made: whole or not at all, with a copy of what was there."""

import contextlib
import difflib
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from ramphold.errors import InputError


def difference(path: Path, new: str) -> Iterator[str]:
    """What changes in a file, a line each; nothing if it stays as it is."""
    old = path.read_text(encoding="utf-8") if path.exists() else ""
    before = str(path) if path.exists() else "nothing"
    yield from difflib.unified_diff(
        old.splitlines(), new.splitlines(), before, f"{path}, new", lineterm="", n=1
    )


def replace_file(path: Path, text: str) -> Path | None:
    """Put a text in the place of a file, at one instant; the copy of what was there.

    A process that is killed leaves the old file or the new one, and never a part.

    Raises:
        InputError: it can't be written.
    """
    beside = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        copy = _copied(path)
        with beside.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if copy is not None:
            shutil.copymode(path, beside)
            was = path.stat()
            with contextlib.suppress(PermissionError):  # only root gives files away
                os.chown(beside, was.st_uid, was.st_gid)
        beside.replace(path)
        _sync(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise InputError(f"{path} can't be written: {error.strerror}") from None
    return copy


def _copied(path: Path) -> Path | None:
    if not path.exists():
        return None
    number = 1
    while (copy := path.with_name(f"{path.name}.before-{number}")).exists():
        number += 1
    shutil.copy2(path, copy)
    return copy


def _sync(folder: Path) -> None:
    """See that the new name outlives a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
