"""Compiles a user's pattern, and refuses one that could block the reading.

A pattern takes exponential time if a repeated part matches in several ways, so a repeated part may
contain neither repeats nor alternatives. The remaining time grows with the length of the line to
the power of the number of repeats, and both are limited.
"""

import re
import warnings

from ramphold.errors import ConfigError

#: Limits of one pattern: repeats, and optional parts with alternatives.
MOST_REPEATS, MOST_CHOICES = 5, 12
#: Longest line in bytes that is matched with a pattern.
PATTERN_LINE_LIMIT = 48

_TOKEN = re.compile(
    r"(?P<back>\\[1-9]|\(\?P=)"
    r"|(?P<atom>\\.|\[\^?\]?(?:\\.|[^\]\\])*\]|\.|[^\\\[\](){}*+?|.])"
    r"|(?P<open>\((?:\?(?:P<[a-z_]+>|:|=|!|<=|<!|[a-z]+:))?)"
    r"|(?P<close>\))"
    r"|(?P<repeat>(?:[*+]|\{\d*,?\d*\})[?+]?)"
    r"|(?P<optional>\?[?+]?)"
    r"|(?P<either>\|)",
    re.DOTALL | re.ASCII,
)


def bounded_pattern(text: str, place: str, *groups: str) -> re.Pattern[bytes]:
    """Compile a pattern for lines of bytes.

    Args:
        text: the pattern.
        place: its key in the configuration.
        groups: named groups that it must have.

    Raises:
        ConfigError: it is no pattern, lacks a group, or could be too slow.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a pattern whose meaning will change is refused
            pattern = re.compile(text.encode("ascii"))
    except UnicodeEncodeError:
        raise ConfigError(f"{place}: expected ASCII characters only") from None
    except (re.error, Warning, OverflowError, RecursionError) as error:
        raise ConfigError(f"{place} is no regular expression: {error}") from None
    for group in groups:
        if group not in pattern.groupindex:
            raise ConfigError(f"{place} has no group (?P<{group}>...): expected one")
    if fault := _fault(text):
        raise ConfigError(f"{place} could take too long: {fault}")
    return pattern


def _fault(text: str) -> str | None:
    """Why a pattern may be slow; None if its time is bounded."""
    kinds, at = [], 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            return f"expected no such thing as {text[at : at + 4]!r}"
        kinds.append(token.lastgroup)
        at = token.end()
    if "back" in kinds:
        return "expected no back reference"
    if _nested(kinds):
        return "expected no repeat or alternative within what is repeated"
    repeats, choices = kinds.count("repeat"), kinds.count("optional") + kinds.count("either")
    if repeats > MOST_REPEATS or choices > MOST_CHOICES:
        return (
            f"it has {repeats} repeats and {choices} choices: "
            f"expected up to {MOST_REPEATS} and {MOST_CHOICES}"
        )
    return None


def _nested(kinds: list[str | None]) -> bool:
    """Whether a repeated group can match in several ways."""
    loose = [False]  # for each open group, whether it can
    for kind, after in zip(kinds, [*kinds[1:], None], strict=True):
        if kind == "open":
            loose.append(False)
        elif kind == "close":
            inner = loose.pop()
            if inner and after == "repeat":
                return True
            loose[-1] |= inner
        elif kind in ("repeat", "optional", "either"):
            loose[-1] = True
    return False
