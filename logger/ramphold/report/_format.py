"""Numbers and times as a report prints them."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

from ramphold import units

#: Printed in place of a missing value.
NONE = "–"  # noqa: RUF001 - a dash that fills a cell

#: Printed in place of something that should be on record and is not.
NOT_RECORDED = "not recorded"

_TINY, _HUGE = 1e-4, 1e6
# More that follow each other are named by the first and the last.
_MOST_SINGLE = 2
_WITHIN = {True: "within limits", False: "OUTSIDE LIMITS", None: "not judged"}


def number(value: float | None, spec: str) -> str:
    """A number in a format, with a true minus sign; a dash for None."""
    return NONE if value is None else f"{value:{spec}}".replace("-", "−")  # noqa: RUF001 - a minus


# A budget knows no probability better than that.
_SURE = 0.001


def probability(value: float | None) -> str:
    """A probability with three digits, and never as certain; a dash for None."""
    if value is not None and value < _SURE:
        return f"< {_SURE}"
    if value is not None and value > 1 - _SURE:
        return f"> {1 - _SURE}"
    return number(value, ".3f")


def printed_unit(unit: str) -> str:
    """A unit as it is printed: cm³ with a raised figure, degrees with their sign."""
    return {"g/cm3": "g/cm³", "C": "°C"}.get(unit, unit)


def figures(value: float | None) -> str:
    """A number with about four digits, for a check."""
    if value is None:
        return NONE
    size = abs(value)
    return number(value, ".0f" if size >= 100 else ".1f" if size >= 10 else ".2f")  # noqa: PLR2004


def significant(value: float) -> str:
    """A number with three significant digits; with an exponent only if very large or small."""
    if not value:
        return "0"
    if not _TINY <= abs(value) < _HUGE:
        return number(value, ".2e")
    # Through text, since rounding may add a digit: 0.9996 becomes 1.00.
    decimals = 2 - int(f"{value:.2e}".partition("e")[2])
    return number(round(value, decimals), f".{max(decimals, 0)}f")


def psi(stress_psi: float) -> str:
    """A stress in psi, without its unit."""
    return number(stress_psi, ".0f")


def mpa(stress_psi: float) -> str:
    """A stress in psi as MPa, without its unit."""
    return number(stress_psi * units.PA_PER_PSI / 1e6, ".1f")


def date(utc_ns: int) -> str:
    """Day and minute, UTC."""
    return f"{datetime.fromtimestamp(utc_ns // 10**9, UTC):%Y-%m-%d %H:%M} UTC"


def specimens(numbers: Iterable[int]) -> str:
    """Specimens by their numbers: specimen 4, or specimens 1 to 3, 5, 6."""
    stretches: list[list[int]] = []
    for one in sorted(set(numbers)):
        if stretches and one == stretches[-1][-1] + 1:
            stretches[-1].append(one)
        else:
            stretches.append([one])
    several = len(stretches) != 1 or len(stretches[0]) > 1
    parts = (
        f"{stretch[0]} to {stretch[-1]}"
        if len(stretch) > _MOST_SINGLE
        else together(map(str, stretch))
        for stretch in stretches
    )
    return f"specimen{'s' if several else ''} {together(parts)}"


def together_by_specimen(said: Iterable[tuple[int, str]]) -> Iterator[str]:
    """What is said of specimens by their numbers, once for all of whom it is said."""
    numbers: dict[str, list[int]] = {}
    for specimen, words in said:
        numbers.setdefault(words, []).append(specimen)
    for words, of in numbers.items():
        yield f"{specimens(of)}: {words}"


def period(first_ns: int, last_ns: int) -> str:
    """From one time to another, UTC; the day appears once if it is the same."""
    first, last = date(first_ns), date(last_ns)
    same = first[:10] == last[:10]
    return f"{first[:-4]} to {last[11:]}" if same else f"{first} to {last}"


def span(low: float | None, high: float | None) -> str:
    """A range of allowed values."""
    if low is None:
        return NONE if high is None else f"up to {figures(high)}"
    return f"from {figures(low)}" if high is None else f"{figures(low)} to {figures(high)}"


def within(passed: bool | None) -> str:  # noqa: FBT001 - the value to be told
    """Whether a value is within its limits, in words."""
    return _WITHIN[passed]


def together(items: Iterable[str], nothing: str = "none") -> str:
    """Items separated by commas."""
    return ", ".join(items) or nothing
