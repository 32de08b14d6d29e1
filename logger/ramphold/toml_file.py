"""A configuration file, decoded into frozen types; every error names the file and the key."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from ramphold.errors import ConfigError

__all__ = ["read_toml"]

T = TypeVar("T")

_FIELD = re.compile(r"Object (contains unknown|missing required) field `(\w+)`")


def read_toml(
    path: Path,
    kind: type[T],
    *,
    dec_hook: Callable[[type[Any], Any], Any] | None = None,
    kinds: Mapping[str, str] | None = None,
) -> T:
    """Read a configuration.

    Args:
        path: the file.
        kind: what it is to be.
        dec_hook: as msgspec takes it.
        kinds: what a section's key `kind` may be, by the section's name.

    Raises:
        ConfigError: the file can't be read or is no TOML, or a key is missing, unknown or wrong.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise ConfigError(f"{path} can't be read: {error.strerror}; expected a TOML file") from None
    try:
        return msgspec.toml.decode(raw, type=kind, dec_hook=dec_hook)
    except msgspec.ValidationError as error:
        raise ConfigError(f"{path}: {_key_named(str(error), kinds or {})}") from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} is no valid TOML: {error}") from None


def _key_named(message: str, kinds: Mapping[str, str]) -> str:
    """The decoder's message, with the key as a person finds it in the file."""
    what, _, place = message.partition(" - at ")
    keys = [key for key in re.sub(r"[`$\[\]]", "", place).split(".") if key]
    if field := _FIELD.fullmatch(what):
        keys.append(field[2])
        what = "unknown key" if field[1] == "contains unknown" else "missing key"
    if keys[1:] == ["kind"] or keys[2:] == ["kind"]:
        what += f", expected {kinds[keys[-2]]}"
    where = " ".join([*(f"[{key}]" for key in keys[:-1]), *keys[-1:]])
    return f"{where}: {what}" if where else what
