"""Writes a file of a key folder whole, or not at all."""

import os
from pathlib import Path


def replace_file(path: Path, content: bytes, *, secret: bool = False) -> None:
    """Put a file in the place of the one before.

    Args:
        path: the file.
        content: its bytes.
        secret: whether it is its owner's alone, and must outlive a power cut.

    Raises:
        OSError: it cannot be written.
    """
    part = path.with_name(path.name + ".part")
    part.unlink(missing_ok=True)
    mode = 0o600 if secret else 0o644
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
        file.write(content)
        if secret:
            file.flush()
            os.fsync(file.fileno())
    part.replace(path)
