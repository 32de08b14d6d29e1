"""The text of `bench.toml`, edited so that comments and all that was not changed stay. Pure."""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

Table = Mapping[str, Any]

_HEADER = re.compile(r"\s*\[")
# A key with a value on one line, and what follows it.
_LINE = r"""(\s*%s\s*=\s*)("(?:[^"\\]|\\.)*"|'[^']*'|\[[^\]#]*\]|[^#"'\[{\s][^#]*?)(\s*(?:#.*)?)"""


def edited(text: str, wanted: Table) -> str:
    """The text with other values, and what it already says left as it is.

    A layout that can't be edited line by line is written anew, without its comments.

    Args:
        text: a TOML document; may be empty.
        wanted: what it is to say.
    """
    old = tomllib.loads(text)
    lines = text.splitlines()
    before, after = _tables(old), _tables(wanted)
    for name, values in after.items():
        was = before.get(name, {})
        for key, value in values.items():
            if key not in was or was[key] != value:
                _put(lines, name, key, _value(value))
    for name, values in before.items():
        for key in values.keys() - after.get(name, {}).keys():
            _drop_key(lines, name, key)
        if name and name not in after:
            _drop_header(lines, name)
    for key in old.keys() | wanted.keys():
        if old.get(key) != wanted.get(key):
            _put_list(lines, key, wanted.get(key))
    made = "\n".join(lines).strip("\n") + "\n"
    try:
        said = tomllib.loads(made)
    except tomllib.TOMLDecodeError:
        said = {}
    return made if said == wanted else "\n".join(_lines(wanted)).strip("\n") + "\n"


def _put_list(lines: list[str], key: str, value: object) -> None:
    """A list of tables in the place of what there is of it."""
    header = re.compile(rf"\s*\[\[\s*{re.escape(key)}\s*\]\]\s*(#.*)?")
    while (
        at := next((n for n, line in enumerate(lines) if header.fullmatch(line)), None)
    ) is not None:
        end = at + 1
        while end < len(lines) and not _HEADER.match(lines[end]):
            end += 1
        del lines[at:end]
    if _is_list(value):
        lines += ["", *_lines({key: value})]


def _tables(found: Table, above: str = "") -> dict[str, dict[str, Any]]:
    """The plain values of each table, by its dotted name."""
    name = f"{above}." if above else ""
    tables: dict[str, dict[str, Any]] = {above: {}}
    for key, value in found.items():
        if isinstance(value, Mapping):
            tables |= _tables(value, f"{name}{key}")
        elif above or not _is_list(value):
            tables[above][key] = value
    return tables


def _range(lines: list[str], name: str) -> tuple[int, int] | None:
    """First line after a table's header, and the line after its last; None without a header."""
    start = 0
    if name:
        header = re.compile(rf"\s*\[\s*{re.escape(name)}\s*\]\s*(#.*)?")
        found = [at for at, line in enumerate(lines) if header.fullmatch(line)]
        if not found:
            return None
        start = found[0] + 1
    end = start
    while end < len(lines) and not _HEADER.match(lines[end]):
        end += 1
    return start, end


def _put(lines: list[str], name: str, key: str, value: str) -> None:
    where = _range(lines, name)
    if where is None:
        lines += ["", f"[{name}]", f"{key} = {value}"]
        return
    start, end = where
    pattern = re.compile(_LINE % re.escape(key))
    for at in range(start, end):
        if match := pattern.fullmatch(lines[at]):
            lines[at] = f"{match[1]}{value}{match[3]}"
            return
    while end > start and not lines[end - 1].strip():
        end -= 1
    lines.insert(end, f"{key} = {value}")


def _drop_key(lines: list[str], name: str, key: str) -> None:
    if (where := _range(lines, name)) is None:
        return
    pattern = re.compile(_LINE % re.escape(key))
    for at in range(*where):
        if pattern.fullmatch(lines[at]):
            del lines[at]
            return


def _drop_header(lines: list[str], name: str) -> None:
    where = _range(lines, name)
    if where is not None and not any(line.strip() for line in lines[slice(*where)]):
        del lines[where[0] - 1 : where[1]]


def _lines(table: Table, above: str = "") -> Iterator[str]:
    """Plain values before tables, since a header ends them."""
    inner = {key: one for key, one in table.items() if isinstance(one, Mapping) or _is_list(one)}
    for key, value in table.items():
        if key not in inner:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in inner.items():
        name = f"{above}{_key(key)}"
        for one in value if isinstance(value, list) else [value]:
            yield ""
            yield f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            yield from _lines(one, f"{name}.")


def _is_list(value: object) -> bool:
    return (
        isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    )


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # A JSON string is also a TOML string, but for the one character that JSON leaves bare.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return repr(value)
