"""What msgspec says of a wrong value, in our words."""

import re
from collections.abc import Mapping

_FIELD = re.compile(r"Object (contains unknown|missing required) field `(.+)`")
_KIND = re.compile(r"Expected `(\w+)[^`]*`, got `(\w+)`")
_BOUND = re.compile(r"Expected `(\w+)` ([<>]=?) (-?[\d.e+]+)")
_LENGTH = re.compile(r"Expected `(\w+)` of length (?:([<>]=) )?(\d+).*")
_PATTERN = re.compile(r"Expected `str` matching regex '(.+)'")
_INDEX = re.compile(r"\[(\d+|\.\.\.)\]")
_BOUNDS = {"<=": "at most", ">=": "at least", "<": "less than", ">": "more than"}
# What the library calls a kind of value, and what a person does.
_KINDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "text",
    "bool": "true or false",
    "array": "a list",
    "object": "names with values",
    "null": "nothing",
}
# As the library writes them, with a stroke before each stroke.
_PATTERNS = {r"\\S": "some text", r"^\\d{4}-\\d\\d-\\d\\d$": "a day such as 2027-03-31"}


def in_words(message: str, noun: str, kinds: Mapping[str, str] = _KINDS) -> tuple[list[str], str]:
    """The keys that lead to a wrong value, and what is wrong with it.

    Args:
        message: of msgspec's ValidationError.
        noun: what a key is called.
        kinds: what the kinds of value are called.
    """
    what, _, place = message.partition(" - at ")
    keys = [key for key in re.sub(r"[`$\[\]]", "", _INDEX.sub(_counted, place)).split(".") if key]
    if field := _FIELD.fullmatch(what):
        keys.append(field[2])
        what = f"unknown {noun}" if field[1] == "contains unknown" else f"missing {noun}"
    elif wrong := _KIND.fullmatch(what):
        expected, found = (kinds.get(name, name) for name in wrong.groups())
        what = f"found {found}: expected {expected}"
    elif bound := _BOUND.fullmatch(what):
        limit = f"{float(bound[3]):.9g}"
        what = f"expected {kinds.get(bound[1], bound[1])} of {_BOUNDS[bound[2]]} {limit}"
    elif length := _LENGTH.fullmatch(what):
        what = _of_length(*length.groups(""))
    elif pattern := _PATTERN.fullmatch(what):
        what = f"expected {_PATTERNS.get(pattern[1], f'text like {pattern[1]}')}"
    elif what.startswith("Invalid enum value"):
        what = what.replace("Invalid enum", "unknown")
    return keys, what


def _of_length(kind: str, bound: str, length: str) -> str:
    if (kind, bound, length) == ("str", ">=", "1"):
        return "expected some text"
    parts = "characters" if kind == "str" else "entries"
    return " ".join(filter(None, ("expected", _BOUNDS.get(bound), length, parts)))


def _counted(index: re.Match[str]) -> str:
    """Which of a list, counted from one; nothing where the decoder does not say."""
    return f" {int(index[1]) + 1}" if index[1].isdecimal() else ""
