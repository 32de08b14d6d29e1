"""The instruments of a bench in words: their state, the daily checks, and wear."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from ramphold.control.instrument_methods import InstrumentNow
from ramphold.method.daily_check import DAILY_CHECKS, LOAD_ZERO, CheckVerdict, DailyCheck
from ramphold.sample import BenchRecord, DailyCheckMade, EquipmentState
from ramphold_tui.view import formats
from ramphold_tui.view.elements import Meter, StyledLine, Tone

_LABEL, _COLUMN = 13, 30
_NONE = "--"
_DUE_SOON_D = 30
_ALMOST_PCT = 80.0


class InstrumentsView(Struct, frozen=True, kw_only=True):
    """What the instruments screen shows.

    Attributes:
        facts: a row for each fact, a column for each instrument; then the faults.
        checks: the daily checks.
        wear: cells and sieves, as bars that fill towards their limits.
    """

    facts: tuple[StyledLine, ...]
    checks: tuple[StyledLine, ...]
    wear: tuple[Meter, ...]


def instruments_view(
    instruments: Sequence[InstrumentNow], book: BenchRecord | None, utc_ns: int
) -> InstrumentsView:
    """All that the instruments screen shows.

    Args:
        instruments: each instrument live.
        book: the bench's own records; None until they are known.
        utc_ns: now, UTC in ns.
    """
    names = {one.name for one in instruments}
    return InstrumentsView(
        facts=tuple(_facts(instruments, book.checks if book else ())),
        checks=() if book is None else tuple(_checks(names, book, utc_ns)),
        wear=() if book is None else tuple(_worn(book, utc_ns)),
    )


# --- facts -------------------------------------------------------------------------------------


def _facts(
    instruments: Sequence[InstrumentNow], checks: Sequence[DailyCheckMade]
) -> Iterator[StyledLine]:
    yield _row("", [one.name for one in instruments], Tone.FADED)
    yield _row("health", [_health(one) for one in instruments])
    yield _row("raw", [one.raw or _NONE for one in instruments])
    yield _row("value", [_value(one) for one in instruments])
    yield _row("rate", [_measure(one.rate_per_s, "/s", 1) for one in instruments])
    yield _row("noise", [_measure(one.noise, one.unit, 4) for one in instruments])
    yield _row("at rest", [_measure(one.steady_pct, "%", 0) for one in instruments])
    yield _row("age", [_age(one) for one in instruments])
    yield _row("zero", [_zero(one, checks) for one in instruments])
    yield _row("certificate", [one.certificate or "none" for one in instruments])
    yield _row("in force", [_days(one.days_left) for one in instruments])
    yield from (
        StyledLine(f"! {one.name}: {one.text}", Tone.CAUTION) for one in instruments if not one.ok
    )


def _row(label: str, texts: Sequence[str], tone: Tone = Tone.CALM) -> StyledLine:
    columns = (f"{text:<{_COLUMN - 2}}  " for text in texts)
    if any(text.startswith("!") for text in texts):
        tone = Tone.CAUTION
    return StyledLine(f"{label:<{_LABEL}}{''.join(columns)}".rstrip(), tone)


def _health(one: InstrumentNow) -> str:
    return f"{one.state}, well" if one.ok else f"! {one.state.upper()}"


def _value(one: InstrumentNow) -> str:
    if one.value is None:
        return f"{_NONE} {one.quality}".rstrip()
    value = formats.mass(one.value) if one.unit == "g" else formats.grouped(one.value)
    return f"{value} {one.unit} {one.quality}".rstrip()


def _measure(value: float | None, unit: str, places: int) -> str:
    return _NONE if value is None else f"{value:.{places}f} {unit}"


def _age(one: InstrumentNow) -> str:
    return "no reading yet" if one.age_s is None else formats.age(one.age_s)


def _zero(one: InstrumentNow, checks: Sequence[DailyCheckMade]) -> str:
    if one.zero is None:
        return _NONE
    taken = [
        check
        for check in checks
        if check.rule == LOAD_ZERO.name and check.verdict != CheckVerdict.FAILED
    ]
    when = f"{formats.day(taken[-1].utc_ns)} {taken[-1].operator}" if taken else "as certified"
    return f"{one.zero:.6g} {one.reading_unit}, {when}"


def _days(left: int | None) -> str:
    if left is None:
        return _NONE
    if left < 0:
        return f"! PAST DUE for {-left} days"
    return f"{'! ' if left < _DUE_SOON_D else ''}{left} days left"


# --- checks and wear ---------------------------------------------------------------------------


def _checks(names: set[str], book: BenchRecord, utc_ns: int) -> Iterator[StyledLine]:
    for check in DAILY_CHECKS:
        if check.instrument in names:
            made = [one for one in book.checks if one.rule == check.name]
            yield _check(check, made[-1] if made else None, utc_ns)


def _check(check: DailyCheck, made: DailyCheckMade | None, utc_ns: int) -> StyledLine:
    rule = check.name
    if made is None or check.is_due(made.utc_ns, utc_ns):
        last = "never made" if made is None else f"last on {formats.day(made.utc_ns)}"
        return StyledLine(f"{rule:<{_LABEL}}- due today, {last}", Tone.ACT)
    if made.anyway is not None:
        said = f"taken over its limit today, {made.operator}: {made.anyway}"
        return StyledLine(f"{rule:<{_LABEL}}! {said}", Tone.CAUTION)
    said = f"{made.off_pct:+.3f} % off, {made.operator}"
    if made.verdict == CheckVerdict.FAILED:
        return StyledLine(f"{rule:<{_LABEL}}! FAILED today: {said}", Tone.CAUTION)
    if made.verdict == CheckVerdict.WARNING:
        return StyledLine(f"{rule:<{_LABEL}}! near its limit today: {said}", Tone.CAUTION)
    return StyledLine(f"{rule:<{_LABEL}}= done today: {said}")


def _worn(book: BenchRecord, utc_ns: int) -> list[Meter]:
    """Those that are due first, then the most worn: not all may be in sight."""
    found = [_wear(one, utc_ns) for one in book.equipment]
    return sorted(found, key=lambda one: (one.tone is not Tone.CAUTION, -one.share))


def _wear(state: EquipmentState, utc_ns: int) -> Meter:
    label = state.check.title
    uses = f"{state.uses} use{'' if state.uses == 1 else 's'}"
    if not state.check.usable:
        text = f"out of use: {state.check.finding}"
        return Meter(label=label, share=1.0, text=text, brief=text, tone=Tone.CAUTION)
    wear = state.wear(utc_ns)
    if wear is None:
        return Meter(label=label, share=0.0, text=f"never measured, {uses}", brief=uses)
    share, used = min(1.0, wear.used_pct / 100), f"{wear.used_pct:.0f} % used"
    if wear.due:
        text = f"DUE: {'; '.join(wear.due)}"
        return Meter(label=label, share=share, text=text, brief="DUE", tone=Tone.CAUTION)
    tone = Tone.ACT if wear.used_pct >= _ALMOST_PCT else Tone.CALM
    return Meter(label=label, share=share, text=f"{used}, {uses}", brief=used, tone=tone)
