"""Numbers with their units, as a person reads them."""

import math
import re
from datetime import UTC, datetime
from textwrap import wrap

_NOTHING = "--"
_BRIEF = 72
_HELD = "\N{NO-BREAK SPACE}"
#: A column narrower than this is no help; a row that is wrapped as a whole hangs in by so much.
_LEAST_COLUMN, _HANGING = 12, 4
_MINUTES_FROM_S = 600
_HOURS_FROM_S = 5400
_TENTHS_UNDER_S = 10


def grouped(value: float | None) -> str:
    """A whole number with a gap between thousands: `12 566`."""
    if value is None or not math.isfinite(value):
        return _NOTHING
    return f"{round(value):,}".replace(",", " ")


def psi(value: float | None) -> str:
    """A stress in psi."""
    return f"{grouped(value)} psi"


def mass(value_g: float | None) -> str:
    """A mass in g, to the milligram."""
    return _NOTHING if value_g is None else f"{value_g:.3f}"


def about(count: int) -> str:
    """An estimated count to two digits: `about 9 300`."""
    digits = len(str(count)) - 2
    return str(count) if digits <= 0 else f"about {grouped(round(count, -digits))}"


def countdown(seconds: float) -> str:
    """Whole seconds to go; the last second is shown until it is over."""
    whole = math.ceil(max(0.0, seconds))
    return f"{whole} s" if whole < _MINUTES_FROM_S else f"{whole // 60}:{whole % 60:02d} min"


def clock(seconds: float) -> str:
    """Minutes and seconds to go, as a timer shows them: `3:12`."""
    whole = math.ceil(max(0.0, seconds))
    return f"{whole // 60}:{whole % 60:02d}"


def day(utc_ns: int) -> str:
    """The day in ISO 8601 of a time, UTC in ns since 1970."""
    return datetime.fromtimestamp(utc_ns / 1e9, UTC).date().isoformat()


def age(seconds: float) -> str:
    """How long ago something was."""
    if seconds < _TENTHS_UNDER_S:
        return f"{seconds:.1f} s"
    if seconds < _MINUTES_FROM_S:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < _HOURS_FROM_S else f"{seconds / 3600:.0f} h"


def wrapped(text: str, width: int, *, first: str = "", others: str = "") -> list[str]:
    """Rows of at most this width, broken between words; `12 566` stays in one row.

    The first row begins with `first`, each other one with `others`.
    """
    held = re.sub(r"(?<=\d) (?=\d{3}\b)", _HELD, text)
    rows = wrap(held, max(1, width), initial_indent=first, subsequent_indent=others)
    return [row.replace(_HELD, " ") for row in rows]


def brief(text: str) -> str:
    """The beginning of a text by somebody else, short enough for two rows of the press place."""
    return text if len(text) <= _BRIEF else f"{text[: _BRIEF - 3].rstrip()}..."


def wrapped_row(text: str, width: int) -> list[str]:
    """A row of columns, each two spaces or more from the next; a long last one is wrapped in place.

    Where there is no room for that, the columns are closed up and the row is wrapped under itself.
    """
    if len(text.rstrip()) <= width:
        return [text]
    begins = [found.end() for found in re.finditer(r"\S {2,}(?=\S)", text)]
    if begins and begins[-1] <= width - _LEAST_COLUMN:
        last = begins[-1]
        return wrapped(text[last:], width, first=text[:last], others=" " * last)
    indent = " " * (len(text) - len(text.lstrip()))
    closed_up = re.sub(r" {2,}", "  ", text.strip())
    return wrapped(closed_up, width, first=indent, others=indent + " " * _HANGING)


def signed_gap(value: float, unit: str, *, over: str, under: str, none: str) -> str:
    """A difference in words rather than by sign: `12 psi ahead`."""
    whole = round(value)
    if whole == 0:
        return none
    return f"{grouped(abs(whole))} {unit} {over if whole > 0 else under}"
