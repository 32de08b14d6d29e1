"""Reads a configuration file into frozen types; every error names the file and the key."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from ramphold.errors import ConfigError, InputError
from ramphold.plain_text import check_plain
from ramphold.undecodable import UNDECODABLE
from ramphold.wrong_value import in_words

T = TypeVar("T")

_COMMA = re.compile(rb"=[ \t]*[-+]?\d+,\d+[ \t]*(#.*)?\r?$", re.MULTILINE)
# What the library calls a kind of value, and what a person does.
_KINDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "text in quotes",
    "bool": "true or false",
    "array": "a list in brackets",
    "object": "a section",
}


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
    return decode_toml(raw, str(path), kind, dec_hook=dec_hook)


def decode_toml(
    raw: bytes,
    name: str,
    kind: type[T],
    *,
    dec_hook: Callable[[type[Any], Any], Any] | None = None,
) -> T:
    """Decode a configuration; errors call it by its name, and are those of `read_toml`."""
    try:
        found = msgspec.toml.decode(raw, type=kind, dec_hook=dec_hook)
    except msgspec.ValidationError as error:
        raise ConfigError(f"{name}: {_with_key(str(error), kind)}") from None
    except UNDECODABLE as error:
        comma = "; write a number with a point, such as 0.1" if _COMMA.search(raw) else ""
        raise ConfigError(f"{name} is no valid TOML: {error}{comma}") from None
    try:
        check_plain(_names(msgspec.toml.decode(raw)), name)
    except InputError as error:
        raise ConfigError(str(error)) from None
    return found


def _names(value: object) -> object:
    """The configuration without a balance's own shape, which holds bytes of its line."""
    if not isinstance(value, dict):
        return value
    return {key: _names(one) for key, one in value.items() if key != "custom"}


def _with_key(message: str, kind: type[Any]) -> str:
    """The decoder's message in our words, with the key as it stands in the file."""
    keys, what = in_words(message, "key", _KINDS)
    if what.startswith("unknown value"):
        what = f"{what.replace('unknown value', 'found')}: expected {_choices(kind, keys)}"
    if keys[-1:] == ["kind"] and what != "unknown key":
        what = f"{what.replace('Invalid value', 'found')}: expected {_kinds(kind, keys[:-1])}"
    where = " ".join([*(f"[{key}]" for key in keys[:-1]), *keys[-1:]])
    return f"{where}: {what}" if where else what


def _choices(kind: type[Any], keys: Sequence[str]) -> str:
    """What the value of a key may be, where that is one of a list."""
    fields = [field for one in _section(kind, keys[:-1]) for field in one.fields]
    values = [
        str(value)
        for field in fields
        if field.encode_name == keys[-1] and isinstance(field.type, msgspec.inspect.LiteralType)
        for value in field.type.values
    ]
    return _listed(list(dict.fromkeys(values)))


def _kinds(kind: type[Any], section: Sequence[str]) -> str:
    """What the key `kind` of a section may be."""
    return _listed([str(one.tag) for one in _section(kind, section)])


def _listed(values: Sequence[str]) -> str:
    *first, last = values
    return f"{', '.join(first)} or {last}" if first else last


def _section(kind: type[Any], section: Sequence[str]) -> list[msgspec.inspect.StructType]:
    """The structs that a section may be."""
    structs = _structs(msgspec.inspect.type_info(kind))
    for key in (name.partition(" ")[0] for name in section):
        fields = [field for one in structs for field in one.fields]
        structs = [
            struct
            for field in fields
            if field.encode_name == key
            for struct in _structs(field.type)
        ]
    return structs


def _structs(found: msgspec.inspect.Type) -> list[msgspec.inspect.StructType]:
    if isinstance(found, msgspec.inspect.VarTupleType):
        found = found.item_type
    types = found.types if isinstance(found, msgspec.inspect.UnionType) else (found,)
    return [one for one in types if isinstance(one, msgspec.inspect.StructType)]
