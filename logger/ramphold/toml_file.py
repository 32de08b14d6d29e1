"""Reads a configuration file into frozen types; every error names the file and the key."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from ramphold.errors import ConfigError, InputError
from ramphold.plain_text import check_plain
from ramphold.undecodable import UNDECODABLE

T = TypeVar("T")

_FIELD = re.compile(r"Object (contains unknown|missing required) field `(\w+)`")


def read_toml(
    path: Path, kind: type[T], *, dec_hook: Callable[[type[Any], Any], Any] | None = None
) -> T:
    """Read a configuration.

    Args:
        path: the file.
        kind: the type to decode it into.
        dec_hook: decodes types that msgspec does not know.

    Raises:
        ConfigError: the file can't be read or is no TOML, or a key is missing, unknown or wrong.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise ConfigError(f"{path} can't be read: {error.strerror}; expected a TOML file") from None
    try:
        found = msgspec.toml.decode(raw, type=kind, dec_hook=dec_hook)
    except msgspec.ValidationError as error:
        raise ConfigError(f"{path}: {_with_key(str(error), kind)}") from None
    except UNDECODABLE as error:
        raise ConfigError(f"{path} is no valid TOML: {error}") from None
    try:
        check_plain(_names(msgspec.toml.decode(raw)), str(path))
    except InputError as error:
        raise ConfigError(str(error)) from None
    return found


def _names(value: object) -> object:
    """The configuration without a balance's own shape, which holds bytes of its line."""
    if not isinstance(value, dict):
        return value
    return {key: _names(one) for key, one in value.items() if key != "custom"}


def _with_key(message: str, kind: type[Any]) -> str:
    """The decoder's message, with the key as it stands in the file."""
    what, _, place = message.partition(" - at ")
    keys = [key for key in re.sub(r"[`$\[\]]", "", place).split(".") if key]
    if field := _FIELD.fullmatch(what):
        keys.append(field[2])
        what = "unknown key" if field[1] == "contains unknown" else "missing key"
    if keys[-1:] == ["kind"] and what != "unknown key":
        what += f", expected {_kinds(kind, keys[:-1])}"
    where = " ".join([*(f"[{key}]" for key in keys[:-1]), *keys[-1:]])
    return f"{where}: {what}" if where else what


def _kinds(kind: type[Any], section: Sequence[str]) -> str:
    """What the key `kind` of a section may be."""
    structs = _structs(msgspec.inspect.type_info(kind))
    for key in section:
        fields = (field for one in structs for field in one.fields)
        structs = _structs(next(field.type for field in fields if field.encode_name == key))
    *first, last = (str(one.tag) for one in structs)
    return f"{', '.join(first)} or {last}"


def _structs(found: msgspec.inspect.Type) -> list[msgspec.inspect.StructType]:
    types = found.types if isinstance(found, msgspec.inspect.UnionType) else (found,)
    return [one for one in types if isinstance(one, msgspec.inspect.StructType)]
