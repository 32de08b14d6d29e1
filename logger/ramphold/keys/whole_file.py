"""Writes a file of a key folder whole or not at all, and checks that a private one is private."""

import errno
import os
import stat
from pathlib import Path

from ramphold.errors import KeyFileError

_NO_SECOND_NAME = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS)
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def replace_file(path: Path, content: bytes, *, secret: bool = False, new: bool = False) -> None:
    """Put a file in the place of the one before.

    Args:
        path: the file.
        content: its bytes.
        secret: whether it is its owner's alone, and must outlive a power cut.
        new: whether there must be none before.

    Raises:
        FileExistsError: there is one, and there must be none.
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
    if new:
        name_once(part, path)
    else:
        part.replace(path)
    if secret:
        sync_folder(path.parent)


def name_once(part: Path, path: Path) -> None:
    """Give a finished file a name that no other file may have.

    Raises:
        FileExistsError: one has it.
        OSError: it cannot be given.
    """
    try:
        os.link(part, path)
    except OSError as error:
        # A FAT stick and many shares give no file a second name.
        if error.errno not in _NO_SECOND_NAME:
            raise
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from error
        part.rename(path)
    else:
        part.unlink()


def sync_folder(path: Path) -> None:
    """Have the names of a folder's files outlive a power cut.

    Raises:
        OSError: it cannot be written.
    """
    opened = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def check_private(path: Path) -> None:
    """Check that a private key's file is this user's, and that nobody else may read it.

    Raises:
        KeyFileError: it must not be used.
        OSError: there is none, or it cannot be looked at.
    """
    found = path.stat()
    if found.st_uid != os.geteuid():
        raise KeyFileError(
            f"{path}: belongs to user {found.st_uid}: expected the user of the service; give it to "
            "that one (chown)"
        )
    if found.st_mode & _OTHERS:
        raise KeyFileError(
            f"{path}: others may read it: expected mode 0600; chmod it, and renew the key if it "
            "may have been copied"
        )
