"""Numbers and times as the pages print them; units stand in the heads of the columns."""

from datetime import UTC, datetime

from ramphold.clock import NS_PER_S

#: Printed in place of a missing value.
NONE = "–"  # noqa: RUF001 - a dash that fills a cell

_MINUTE_S, _HOUR_S, _DAY_S = 60, 3600, 86_400


def clock_minute(utc_ns: int) -> str:
    """Day and minute, UTC, without the word."""
    return f"{datetime.fromtimestamp(utc_ns // NS_PER_S, UTC):%Y-%m-%d %H:%M}"


def day(utc_ns: int) -> str:
    """The day, UTC."""
    return clock_minute(utc_ns)[:10]


def number(value: float | None, spec: str) -> str:
    """A number in a format, with a true minus sign; a dash for None."""
    return NONE if value is None else f"{value:{spec}}".replace("-", "−")  # noqa: RUF001 - a minus


def ago(span_ns: int) -> str:
    """How long ago something was; a bench's clock may be ahead of ours."""
    ahead = span_ns < -_MINUTE_S * NS_PER_S
    return "dated later than now" if ahead else f"{age(max(span_ns, 0))} ago"


def age(span_ns: int) -> str:
    """A time span in one unit: seconds, minutes, hours or days."""
    span_s = span_ns // NS_PER_S
    for unit_s, unit in ((_DAY_S, "d"), (_HOUR_S, "h"), (_MINUTE_S, "min")):
        if span_s >= 2 * unit_s:
            return f"{span_s // unit_s} {unit}"
    return f"{span_s} s"
