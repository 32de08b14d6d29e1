"""A person's own signing key, sealed with a passphrase or PIN, in a file of the key folder.

The PIN turns into a key by scrypt (RFC 7914), which seals the secret with AES-GCM. It keeps a
colleague at the screen from signing. Whoever can read the file can try PINs elsewhere, so the file
is its owner's alone, and a long passphrase is better than four digits.
"""

import contextlib
import os
import re
from pathlib import Path

import msgspec
from msgspec import Struct, structs

from ramphold.errors import CommandRefused, InputError, KeyFileError
from ramphold.keys.ed25519 import PublicKey, SigningKey, seal, unseal
from ramphold.keys.person_signature import PersonSignature, same_name, signed_text
from ramphold.keys.whole_file import check_private, replace_file
from ramphold.undecodable import UNDECODABLE

_INITIALS = re.compile(r"[A-Za-z0-9][A-Za-z0-9.-]{0,11}", re.ASCII)
_SHORTEST = 4
_FREE_TRIES = 3
_LONGEST_WAIT_S = 300
_NS = 10**9


class Signer(Struct, frozen=True, kw_only=True):
    """A person who signs.

    Attributes:
        initials: as in the records; no two persons share them.
        name, function: in full, as a report prints them.
        key: public key, in hex.
        added_utc_ns, retired_utc_ns: since when, and until when; None if still.
    """

    initials: str
    name: str
    function: str
    key: PublicKey
    added_utc_ns: int
    retired_utc_ns: int | None = None


class OpenedKey:
    """A person whose PIN was right, and the key to sign with.

    Attributes:
        person: who signs.
    """

    def __init__(self, person: Signer, key: SigningKey) -> None:
        self.person = person
        self._key = key

    @property
    def unsigned(self) -> PersonSignature:
        """What stands in a record while it is being signed."""
        person = self.person
        return PersonSignature(name=person.name, function=person.function, key=person.key)

    def sign_record(self, previous: str, body: str) -> str:
        """The signature of a record that holds `unsigned`, after the link before it."""
        return self._key.sign(signed_text(previous, body))

    def sign(self, message: bytes) -> str:
        """The signature of a message, in hex."""
        return self._key.sign(message)

    def sealed(self, pin: str, salt: bytes) -> bytes:
        """The key, sealed under a PIN."""
        return seal(self._key.secret(), pin, salt, self.person.key)


class _PersonFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    person: Signer
    salt: bytes
    sealed: bytes


class _Failures(Struct, frozen=True, kw_only=True):
    count: int = 0
    utc_ns: int = 0


class PersonKeys:
    """The persons of a key folder.

    Args:
        folder: the key folder.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "people"

    def add(self, initials: str, name: str, function: str, pin: str, utc_ns: int) -> OpenedKey:
        """Make a key for a person; the file of a retired key of the same person is kept aside.

        Raises:
            InputError: the initials are taken or cannot be used, a name or function is missing, or
                the PIN is too short.
            KeyFileError: the folder cannot be written.
        """
        if not _INITIALS.fullmatch(initials):
            raise InputError(
                f"initials {initials[:40]!r}: expected 1 to 12 letters, digits, dots or dashes"
            )
        _check_length(pin)
        if not name.strip() or not function.strip():
            raise InputError(f"{initials}: expected the full name and the function")
        for one in self.all():
            retired = one.retired_utc_ns is not None
            if same_name(one.initials, initials) and not (retired and same_name(one.name, name)):
                raise InputError(f"initials {initials}: {one.name} has them already")
            if not retired and same_name(one.name, name):
                raise InputError(f"{name} has a key already, as {one.initials}: retire that one")
        self._set_aside(initials)
        key = SigningKey.generate()
        person = Signer(
            initials=initials, name=name, function=function, key=key.public, added_utc_ns=utc_ns
        )
        opened, salt = OpenedKey(person, key), os.urandom(16)
        self._write(_PersonFile(person=person, salt=salt, sealed=opened.sealed(pin, salt)))
        return opened

    def all(self) -> list[Signer]:
        """Every person, retired ones too, by initials.

        Raises:
            KeyFileError: a file cannot be read.
        """
        return [_decoded(path).person for path in sorted(self._folder.glob("*.json"))]

    def find(self, initials: str) -> Signer:
        """A person by initials.

        Raises:
            CommandRefused: there is none.
            KeyFileError: the file cannot be read.
        """
        try:
            return self._read(self._path(initials)).person
        except FileNotFoundError:
            raise CommandRefused(
                f"{initials} has no key to sign with: `ramphold person add {initials}`"
            ) from None

    def retire(self, initials: str, utc_ns: int) -> Signer:
        """End a person's signing; what was signed stays signed.

        Raises:
            CommandRefused: there is no such person, or it is retired already.
            KeyFileError: the file cannot be read or written.
        """
        person = self.find(initials)
        if person.retired_utc_ns is not None:
            raise CommandRefused(f"{person.name} ({person.initials}) is retired already")
        file = self._read(self._path(initials))
        retired = structs.replace(person, retired_utc_ns=utc_ns)
        self._write(structs.replace(file, person=retired))
        return retired

    def open(self, initials: str, pin: str, utc_ns: int) -> OpenedKey:
        """A person and the key to sign with.

        Each wrong PIN after the third makes the next try wait longer, up to five minutes; no number
        of them locks a key for good.

        Raises:
            CommandRefused: no such person, a retired one, a wrong PIN, or a try too soon.
            KeyFileError: the file cannot be read.
        """
        person = self.find(initials)
        if person.retired_utc_ns is not None:
            raise CommandRefused(f"{person.name} ({person.initials}) is retired and signs no more")
        failures = self._failures(initials)
        wait_s = _wait_s(failures, utc_ns)
        if wait_s > 0:
            raise CommandRefused(
                f"{failures.count} wrong PINs for {person.initials}: try again in {wait_s} s"
            )
        file = self._read(self._path(initials))
        secret = unseal(file.sealed, pin, file.salt, person.key)
        if secret is None:
            self._fail(initials, _Failures(count=failures.count + 1, utc_ns=utc_ns))
            raise CommandRefused(f"wrong PIN for {person.initials}: nothing was signed")
        # On a read-only disk the wrong ones stay counted; the right one is right all the same.
        with contextlib.suppress(OSError):
            self._failed(initials).unlink(missing_ok=True)
        return OpenedKey(person, SigningKey.from_bytes(secret))

    def change_pin(self, initials: str, pin: str, new_pin: str, utc_ns: int) -> Signer:
        """Seal a person's key under another PIN; the key stays.

        Raises:
            InputError: the new PIN is too short.
            CommandRefused, KeyFileError: as for `open`, and where the file cannot be written.
        """
        _check_length(new_pin)
        opened = self.open(initials, pin, utc_ns)
        person, salt = opened.person, os.urandom(16)
        self._write(_PersonFile(person=person, salt=salt, sealed=opened.sealed(new_pin, salt)))
        return person

    # --- inside ----------------------------------------------------------------------------------

    def _set_aside(self, initials: str) -> None:
        """Give the file of a retired key a name that no initials lead to."""
        path = self._path(initials)
        try:
            path.rename(path.with_name(f"{path.stem}.{self._read(path).person.key[:16]}.json"))
            self._failed(initials).unlink(missing_ok=True)
        except FileNotFoundError:
            return
        except OSError as error:
            raise KeyFileError(f"{path}: can't be renamed: {error.strerror}") from None

    def _path(self, initials: str) -> Path:
        safe = initials.lower() if _INITIALS.fullmatch(initials) else "-"
        return self._folder / f"{safe}.json"

    def _failed(self, initials: str) -> Path:
        return self._path(initials).with_suffix(".failed")

    def _failures(self, initials: str) -> _Failures:
        with contextlib.suppress(OSError, *UNDECODABLE):
            return msgspec.json.decode(self._failed(initials).read_bytes(), type=_Failures)
        return _Failures()

    def _fail(self, initials: str, failures: _Failures) -> None:
        try:
            self._failed(initials).write_bytes(msgspec.json.encode(failures))
        except OSError as error:
            raise KeyFileError(f"{self._folder}: can't be written: {error.strerror}") from None

    def _read(self, path: Path) -> _PersonFile:
        """The file of a person, if nobody else may read it.

        Raises:
            FileNotFoundError: there is none.
            KeyFileError: it must not be used.
        """
        try:
            check_private(path)
        except FileNotFoundError:
            raise
        except OSError as error:
            raise KeyFileError(f"{path}: can't be read: {error.strerror}") from None
        return _decoded(path)

    def _write(self, file: _PersonFile) -> None:
        path = self._path(file.person.initials)
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            replace_file(path, msgspec.json.encode(file), secret=True)
        except OSError as error:
            raise KeyFileError(f"{path}: can't be written: {error.strerror}") from None


def _check_length(pin: str) -> None:
    if len(pin) < _SHORTEST:
        raise InputError(f"the PIN is too short: expected {_SHORTEST} characters or more")


def _decoded(path: Path) -> _PersonFile:
    try:
        return msgspec.json.decode(path.read_bytes(), type=_PersonFile)
    except OSError as error:
        raise KeyFileError(f"{path}: can't be read: {error.strerror}") from None
    except UNDECODABLE:
        raise KeyFileError(f"{path}: is no person's key: put it back from its backup") from None


def _wait_s(failures: _Failures, utc_ns: int) -> int:
    """How long the next try must wait, in s; by a clock that may have been set back."""
    over = failures.count - _FREE_TRIES
    if over < 0:
        return 0
    wait_s = min(2 ** min(over + 1, 20), _LONGEST_WAIT_S)
    since_s = (utc_ns - failures.utc_ns) // _NS
    return 0 if since_s < -_LONGEST_WAIT_S else max(0, wait_s - max(since_s, 0))
