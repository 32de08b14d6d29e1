"""Ed25519 keys and signatures as hex text (RFC 8032); only this module signs or checks.

The library is imported where it is used: most commands need no key.
"""

from __future__ import annotations

import os
import re
from base64 import b64decode, b64encode
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated

from msgspec import Meta

from ramphold.errors import InputError, KeyFileError

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

#: A public key, 32 bytes in hex.
PublicKey = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
#: A signature, 64 bytes in hex.
SignatureText = Annotated[str, Meta(pattern="^[0-9a-f]{128}$")]
#: The same, or nothing where a key has not signed.
MaybeSignature = Annotated[str, Meta(pattern="^([0-9a-f]{128})?$")]

# What SubjectPublicKeyInfo puts before the 32 bytes of an Ed25519 key (RFC 8410, section 4).
_SPKI = bytes.fromhex("302a300506032b6570032100")
# 32 MB and a tenth of a second for each try (RFC 7914 names the parameters).
_SCRYPT = {"n": 2**15, "r": 8, "p": 1}
_NONCE = 12
_PRINT = re.compile("[0-9a-f]{16,64}")


class SigningKey:
    """A private key.

    Attributes:
        public: its public key, in hex.
    """

    def __init__(self, key: Ed25519PrivateKey) -> None:
        self._key = key
        self.public = key.public_key().public_bytes_raw().hex()

    @classmethod
    def generate(cls) -> SigningKey:
        """A new key from the system's random numbers."""
        from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415 - slow to load

        return cls(ed25519.Ed25519PrivateKey.generate())

    @classmethod
    def from_bytes(cls, secret: bytes) -> SigningKey:
        """The key of 32 secret bytes."""
        from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415 - slow to load

        return cls(ed25519.Ed25519PrivateKey.from_private_bytes(secret))

    @classmethod
    def from_pem(cls, pem: bytes) -> SigningKey:
        """The key in a PEM file.

        Raises:
            KeyFileError: it holds none.
        """
        from cryptography.hazmat.primitives import serialization  # noqa: PLC0415 - slow to load
        from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415

        try:
            key = serialization.load_pem_private_key(pem, None)
        except (ValueError, TypeError):
            raise KeyFileError("holds no private key in PEM") from None
        if not isinstance(key, ed25519.Ed25519PrivateKey):
            raise KeyFileError("holds a key of another kind: expected Ed25519")
        return cls(key)

    def pem(self) -> bytes:
        """The text of its file (PKCS #8, not encrypted)."""
        from cryptography.hazmat.primitives import serialization  # noqa: PLC0415 - slow to load

        return self._key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )

    def secret(self) -> bytes:
        """Its 32 secret bytes."""
        return self._key.private_bytes_raw()

    def sign(self, message: bytes) -> str:
        """The signature of a message, in hex."""
        return self._key.sign(message).hex()


def seal(secret: bytes, pin: str, salt: bytes, label: str) -> bytes:
    """Seal a secret under a PIN: AES-256-GCM by a key from scrypt (RFC 7914).

    Args:
        secret: what is sealed.
        pin: the passphrase or PIN.
        salt: random bytes of this secret; they need not be secret.
        label: what the secret belongs to; it opens under no other.
    """
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM  # noqa: PLC0415 - slow to load

    nonce = os.urandom(_NONCE)
    return nonce + AESGCM(_stretched(pin, salt)).encrypt(nonce, secret, label.encode())


def unseal(sealed: bytes, pin: str, salt: bytes, label: str) -> bytes | None:
    """The secret; None if the PIN is wrong or anything was changed."""
    from cryptography.exceptions import InvalidTag  # noqa: PLC0415 - slow to load
    from cryptography.hazmat.primitives.ciphers.aead import AESGCM  # noqa: PLC0415

    try:
        return AESGCM(_stretched(pin, salt)).decrypt(
            sealed[:_NONCE], sealed[_NONCE:], label.encode()
        )
    except (InvalidTag, ValueError):
        return None


def _stretched(pin: str, salt: bytes) -> bytes:
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt  # noqa: PLC0415 - slow to load

    return Scrypt(salt=salt, length=32, **_SCRYPT).derive(pin.encode())


def is_signed(public: str, signature: str, message: bytes) -> bool:
    """Whether a signature is that of a message by the owner of a public key."""
    from cryptography.exceptions import InvalidSignature  # noqa: PLC0415 - slow to load
    from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415

    try:
        key = ed25519.Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
        key.verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def fingerprint(public: str) -> str:
    """The fingerprint of a public key: SHA-256 of its DER form, in hex, as openssl gives it."""
    return sha256(_SPKI + bytes.fromhex(public)).hexdigest()


def public_pem(public: str) -> str:
    """A public key as PEM."""
    text = b64encode(_SPKI + bytes.fromhex(public)).decode()
    return f"-----BEGIN PUBLIC KEY-----\n{text}\n-----END PUBLIC KEY-----\n"


def read_public_pem(text: str) -> str:
    """The public key in a PEM text.

    Raises:
        KeyFileError: it holds none.
    """
    lines = [line for line in text.splitlines() if line and not line.startswith("-----")]
    try:
        der = b64decode("".join(lines), validate=True)
    except ValueError:
        der = b""
    if len(der) != len(_SPKI) + 32 or not der.startswith(_SPKI):
        raise KeyFileError("holds no public key of Ed25519 in PEM")
    return der[len(_SPKI) :].hex()


def read_fingerprint(text: str) -> str:
    """The hex digits of a fingerprint as typed: whole, or its first 16 digits and more.

    Raises:
        InputError: it is none.
    """
    digits = "".join(text.lower().replace(":", " ").split())
    if not _PRINT.fullmatch(digits):
        raise InputError(f"fingerprint {text[:80]!r}: expected its 64 hex digits, or the first 16")
    return digits
