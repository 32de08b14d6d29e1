"""The space on the disk of a file."""

import os
from pathlib import Path


def free_bytes(path: Path) -> int | None:
    """Bytes that the disk of a file has for this user; None if it can't be told."""
    try:
        disk = os.statvfs(path.parent)
    except OSError:
        return None
    return disk.f_bavail * disk.f_frsize
