"""The folder beside a database that holds its key and what must not lie in the database.

`own.key` is the private key (mode 0600), `own.pub` the public one, `collector.pub` that of the
collector whose receipts are kept, `head` and `receipt` the newest signed heads, `next.key` a key
whose change is being recorded, `changes` those of a collector's key. Whoever can write the
database, but not this folder, can neither sign nor cut off unseen what was signed.
"""

import contextlib
from collections.abc import Container, Iterator
from pathlib import Path

import msgspec

from ramphold.errors import KeyFileError
from ramphold.keys.ed25519 import SigningKey, public_pem, read_public_pem
from ramphold.keys.key_change import KeyChange
from ramphold.keys.signed_head import HeadWord, SignedHead
from ramphold.keys.whole_file import check_private, replace_file, sync_folder
from ramphold.undecodable import UNDECODABLE

_UNREADABLE: tuple[type[Exception], ...] = (OSError, *UNDECODABLE)
_MADE = b"# made "


class KeyFolder:
    """The keys of one database.

    Args:
        path: the folder.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._private = self.path / "own.key"
        self._public = self.path / "own.pub"
        self._next = self.path / "next.key"
        self._changes = self.path / "changes"

    @property
    def has_private(self) -> bool:
        """Whether there is a private key, whether or not it may be used."""
        return self._private.exists()

    @classmethod
    def beside(cls, database: Path) -> "KeyFolder":
        """The folder of a database in a file."""
        return cls(database.with_name(f"{database.name}.keys"))

    def make(self, utc_ns: int) -> SigningKey:
        """Make a key, readable by its owner alone, with its public half, or neither.

        Raises:
            KeyFileError: there is one, or the folder cannot be written.
        """
        key = SigningKey.generate()
        try:
            self.path.mkdir(mode=0o755, exist_ok=True)
            replace_file(self._private, _text(key, utc_ns), secret=True, new=True)
            try:
                replace_file(self._public, public_pem(key.public).encode())
            except OSError:
                self._private.unlink()
                raise
        except OSError as error:
            raise KeyFileError(
                f"{self._private}: can't be made: {error.strerror}: give {self.path} to the "
                "user of the service"
            ) from None
        return key

    def open(self) -> SigningKey | None:
        """The private key; None if there is no file.

        Raises:
            KeyFileError: the file must not be used: it is unreadable, another user's, readable by
                others, or no key.
        """
        try:
            check_private(self._private)
            pem = self._private.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise KeyFileError(f"{self._private}: can't be read: {error.strerror}") from None
        try:
            return SigningKey.from_pem(pem)
        except KeyFileError as error:
            raise KeyFileError(
                f"{self._private}: {error}: put the bench's own key back from its backup"
            ) from None

    def prepare(self, key: SigningKey, utc_ns: int) -> None:
        """Write a key that takes the place of the own one once that is recorded (`settle`).

        Raises:
            KeyFileError: the folder cannot be written.
        """
        with self._writing():
            self.path.mkdir(mode=0o755, exist_ok=True)
            replace_file(self._next, _text(key, utc_ns), secret=True)

    def settle(self, recorded: Container[str]) -> None:
        """Put a prepared key in the place of the old one, which is gone then, or remove it.

        Args:
            recorded: the public keys that are recorded as new ones.

        Raises:
            KeyFileError: the folder cannot be written, or the prepared file holds no key.
        """
        with self._writing():
            if not self._next.exists():
                return
            public = SigningKey.from_pem(self._next.read_bytes()).public
            if public not in recorded:
                self._next.unlink()
                return
            replace_file(self._public, public_pem(public).encode())
            self._next.replace(self._private)
            sync_folder(self.path)

    def changes(self) -> tuple[KeyChange, ...]:
        """The changes of a collector's key, in order; those of a bench stand in its records.

        Raises:
            KeyFileError: the file cannot be read.
        """
        try:
            return msgspec.json.decode(self._changes.read_bytes(), type=tuple[KeyChange, ...])
        except FileNotFoundError:
            return ()
        except _UNREADABLE as error:
            raise KeyFileError(f"{self._changes}: can't be read: {error}") from None

    def add_change(self, change: KeyChange) -> None:
        """Keep a change of a collector's key.

        Raises:
            KeyFileError: the folder cannot be written.
        """
        # An earlier one from the same key was cut short before the new key was in its place.
        kept = (*(one for one in self.changes() if one.old != change.old), change)
        with self._writing():
            replace_file(self._changes, msgspec.json.encode(kept), secret=True)

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise KeyFileError(f"{self.path}: can't be written: {error.strerror}") from None

    def made_utc_ns(self) -> int:
        """When the key was made; 0 if the file does not say."""
        with contextlib.suppress(OSError, ValueError):
            first = self._private.read_bytes().partition(b"\n")[0]
            if first.startswith(_MADE):
                return int(first.removeprefix(_MADE))
        return 0

    def public(self) -> str | None:
        """The public key, in hex; None if there is none.

        Raises:
            KeyFileError: the file holds none.
        """
        return _read_public(self._public)

    def collector(self) -> str | None:
        """The public key of the collector, in hex; None before its first receipt.

        Raises:
            KeyFileError: the file holds none.
        """
        return _read_public(self.path / "collector.pub")

    def keep_collector(self, key: str) -> None:
        """Keep the public key of the collector whose receipts are kept from now on.

        Raises:
            KeyFileError: the folder cannot be written.
        """
        with self._writing():
            self.path.mkdir(mode=0o755, exist_ok=True)
            replace_file(self.path / "collector.pub", public_pem(key).encode())

    def newest(self, word: HeadWord) -> SignedHead | None:
        """The newest head or receipt that was kept here; None if there is none, or it is broken."""
        with contextlib.suppress(OSError, *UNDECODABLE):
            return msgspec.json.decode((self.path / word).read_bytes(), type=SignedHead)
        return None

    def keep(self, head: SignedHead) -> None:
        """Keep a head or receipt in the place of the one before.

        Raises:
            KeyFileError: the folder cannot be written.
        """
        with self._writing():
            replace_file(self.path / head.word, msgspec.json.encode(head))


def _text(key: SigningKey, utc_ns: int) -> bytes:
    return _MADE + f"{utc_ns}\n".encode() + key.pem()


def _read_public(path: Path) -> str | None:
    try:
        return read_public_pem(path.read_text("utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise KeyFileError(f"{path}: can't be read: {error}") from None
    except KeyFileError as error:
        raise KeyFileError(f"{path}: {error}") from None
