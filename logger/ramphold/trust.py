"""How far a bench can be trusted now: six parts, each well, doubtful or bad, and what to do. Pure.

The rules are common practice or our own, no source. Ages are in s, None where nothing is known.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from msgspec import Struct


class TrustLevel(StrEnum):
    """How far a part can be trusted, the best first."""

    WELL = "well"
    DOUBTFUL = "doubtful"
    BAD = "bad"


class TrustPart(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One part of the bench: what it is called, how it is, and a sentence that says what to do."""

    name: str
    level: TrustLevel
    text: str


#: The parts in the order in which they are shown; of two that are as bad the first is the worse.
RECORDING, CLOCK, INSTRUMENTS, BACKUP, SERVER, CERTIFICATES = TRUST_PARTS = (
    "recording",
    "clock",
    "instruments",
    "backup",
    "server",
    "certificates",
)

_MINUTE_S, _HOUR_S, _DAY_S = 60.0, 3600.0, 86_400.0
# A commit is made every second.
_SILENT_S = 3.0
_FEW_RUNS, _MANY_RUNS = 20, 10_000
_BACKUP_S, _NO_BACKUP_S = 7 * _DAY_S, 31 * _DAY_S
_RECEIPT_S, _NO_RECEIPT_S = _HOUR_S, _DAY_S
_DUE_SOON_D = 30


def worst(parts: Iterable[TrustPart]) -> TrustPart | None:
    """The part that can be trusted least; None without any."""
    order = list(TrustLevel)
    return max(parts, key=lambda one: order.index(one.level), default=None)


def recording(
    *,
    refused: str,
    tail: str | None,
    age_s: float | None,
    runs_left: int | None,
    unkept: str = "",
) -> TrustPart:
    """Whether what is read is kept.

    Args:
        refused: why nothing is written; empty if it is.
        tail: where what is refused is kept meanwhile; None for memory alone.
        age_s: age of the newest commit while a run is live, else None.
        runs_left: how many runs the disk has room for.
        unkept: why a run that is started now could not be kept; empty if it could.
    """
    if refused:
        where = f"in {tail}" if tail else "in memory alone"
        return _bad(RECORDING, f"nothing is written: {refused}; what is read waits {where}")
    if age_s is not None and age_s > _SILENT_S:
        return _bad(RECORDING, f"the disk has not answered for {age_words(age_s)}: look at it")
    if runs_left is None:
        return _doubtful(RECORDING, "the free space is unknown: look at the disk")
    if unkept or not runs_left:
        full = "no room for a run: free some space on the disk"
        return _bad(RECORDING, f"no run could be kept now: {unkept}" if runs_left else full)
    if runs_left < _FEW_RUNS:
        return _doubtful(RECORDING, f"room for {runs_left} runs: free some space on the disk")
    newest = "" if age_s is None else f", newest commit {age_words(age_s)} ago"
    return _well(RECORDING, f"room for {_runs_words(runs_left)}{newest}")


def signed(kept: TrustPart, unsigned: str) -> TrustPart:
    """The part of recording, doubtful at best where records are not signed, for a reason."""
    if unsigned and kept.level is TrustLevel.WELL:
        return _doubtful(RECORDING, unsigned)
    return kept


def _runs_words(runs_left: int) -> str:
    return f"{runs_left} runs" if runs_left < _MANY_RUNS else f"{_MANY_RUNS} runs or more"


def clock(*, synchronised: bool | None, battery: bool | None, wrong: str = "") -> TrustPart:
    """Whether the calendar is right.

    Args:
        synchronised: whether the kernel calls its clock synchronised.
        battery: whether the computer has a clock that goes on without power.
        wrong: what shows that the calendar is wrong; empty if nothing does.
    """
    if wrong:
        return _bad(CLOCK, f"{wrong}: set the clock; times within one boot are right")
    if synchronised:
        return _well(CLOCK, "synchronised" if battery else "synchronised; no battery clock")
    if synchronised is None:
        return _doubtful(CLOCK, "the kernel does not say if it is synchronised: compare a watch")
    if battery:
        return _doubtful(CLOCK, "not synchronised, a battery clock keeps it: compare a watch")
    return _bad(CLOCK, "not synchronised, and no battery clock: compare a watch, set the clock")


def instruments(health: Sequence[tuple[str, bool, str]]) -> TrustPart:
    """Whether the instruments answer; each with its name, whether it does, and what is wrong."""
    failing = [(name, text) for name, ok, text in health if not ok]
    said = "; ".join(f"{name}: {text}" for name, text in failing)
    if not health:
        return _bad(INSTRUMENTS, "none is known: look at the configuration")
    if not failing:
        return _well(INSTRUMENTS, "all answer")
    # A balance can be typed in; without a load there is no run.
    load = any(name == "load" for name, _ in failing)
    return _bad(INSTRUMENTS, said) if load else _doubtful(INSTRUMENTS, said)


def backup(age_s: float | None) -> TrustPart:
    """How old the newest copy of the database is; None: none was made."""
    advice = "make one with `ramphold backup`"
    if age_s is None:
        return _doubtful(BACKUP, f"no copy was made: {advice}")
    if age_s < 0:
        return _doubtful(BACKUP, "the newest copy is dated later than now: look at the clock")
    made = f"the newest copy is {age_words(age_s)} old"
    if age_s > _NO_BACKUP_S:
        return _bad(BACKUP, f"{made}: {advice}")
    return _doubtful(BACKUP, f"{made}: {advice}") if age_s > _BACKUP_S else _well(BACKUP, made)


def server(  # noqa: PLR0913 - each is a fact of its own
    *,
    up: bool | None,
    trouble: str,
    waiting: int,
    parked: int,
    receipt_s: float | None,
    waits_s: float,
) -> TrustPart:
    """Whether the laboratory's server has what was recorded.

    Args:
        up: whether it is connected; None where no server is named.
        trouble: what is wrong with the connection.
        waiting: records without a receipt.
        parked: records that it refused.
        receipt_s: age of its newest receipt; None before the first.
        waits_s: age of the oldest record that waits; 0 without any.
    """
    if up is None:
        return _well(SERVER, "no server is named")
    if parked:
        return _doubtful(SERVER, f"{parked} records were refused: see `ramphold publish`")
    wait = f"{waiting} records wait for a receipt"
    why = trouble or "look at network and server"
    # A record of just now can have none yet, and old ones may be on their way after a break.
    late_s = waits_s if receipt_s is None else min(receipt_s, waits_s)
    if waiting and late_s > _RECEIPT_S:
        said = f"{wait}, none came for {age_words(late_s)}: {why}"
        return _bad(SERVER, said) if late_s > _NO_RECEIPT_S else _doubtful(SERVER, said)
    if not up:
        return _doubtful(SERVER, f"not connected, {wait}: {why}")
    newest = "" if receipt_s is None else f", newest receipt {age_words(receipt_s)} ago"
    return _well(SERVER, f"connected, {wait if waiting else 'nothing waits'}{newest}")


def certificates(
    *,
    load: int | None,
    balance: int | None,
    has_balance: bool,
    future: str = "",
    troubles: Sequence[str] = (),
) -> TrustPart:
    """Whether what is measured is calibrated.

    Args:
        load: days until the certificate of the load is due, negative past that; None without one.
        balance: the same of the balance.
        has_balance: whether there is a balance.
        future: id of a certificate whose date is to come; empty if there is none.
        troubles: what is wrong with files of certificates.
    """
    if load is None:
        return _bad(CERTIFICATES, "none for the load, so every run fails: calibrate it")
    if load < 0:
        return _bad(CERTIFICATES, "the load's is past due, so every run fails: calibrate it")
    if future:
        return _bad(CERTIFICATES, f"{future} is dated later than today: look at clock and date")
    doubts = list(troubles)
    if has_balance and balance is None:
        doubts.append("none for the balance, so masses stay as shown: calibrate it")
    for name, days in (("load", load), ("balance", balance)):
        if days is not None and days < _DUE_SOON_D:
            due = "past due" if days < 0 else f"due in {days} days"
            doubts.append(f"the {name}'s is {due}: calibrate it")
    if doubts:
        return _doubtful(CERTIFICATES, "; ".join(doubts))
    first = load if balance is None else min(load, balance)
    return _well(CERTIFICATES, f"in force, the first is due in {first} days")


def age_words(age_s: float) -> str:
    """An age in the unit that fits it."""
    for size_s, unit in ((_DAY_S, "days"), (_HOUR_S, "h"), (_MINUTE_S, "min")):
        if age_s >= 2 * size_s:
            return f"{age_s // size_s:.0f} {unit}"
    return f"{age_s:.0f} s"


def _well(name: str, text: str) -> TrustPart:
    return TrustPart(name=name, level=TrustLevel.WELL, text=text)


def _doubtful(name: str, text: str) -> TrustPart:
    return TrustPart(name=name, level=TrustLevel.DOUBTFUL, text=text)


def _bad(name: str, text: str) -> TrustPart:
    return TrustPart(name=name, level=TrustLevel.BAD, text=text)
