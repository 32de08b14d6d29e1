"""What was warned of at a press that no run followed, each warning with what became of it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ramphold.sample._bench_records import PressWarned, Record

__all__ = ["PressWarning", "press_warnings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PressWarning:
    """The load came near the rating or over it while no run followed it.

    Attributes:
        warning: which, such as `over rating`.
        utc_ns: when it was raised, UTC in ns.
        name: the weakest of press, cell and sensor.
        load_lbf: the greatest load that was recorded of it, in lbf; None where none was.
        limit_lbf: what it was over, in lbf.
        seen_by: initials of who said that it was seen; empty where nobody did.
    """

    warning: str
    utc_ns: int
    name: str
    load_lbf: float | None
    limit_lbf: float | None
    seen_by: str = ""

    @property
    def over_pct(self) -> float | None:
        """How far the load was over the limit, in % of it; None where either is not known."""
        if self.load_lbf is None or not self.limit_lbf:
            return None
        return 100 * (self.load_lbf - self.limit_lbf) / self.limit_lbf


def press_warnings(records: Iterable[Record]) -> tuple[PressWarning, ...]:
    """Each warning once, in the order in which they were raised.

    A daemon that was started anew while a warning stood raises it again, as one of its own.
    """
    found: list[PressWarning] = []
    newest: dict[str, int] = {}
    for one in records:
        if not isinstance(one, PressWarned):
            continue
        if one.happened == "raised" or one.warning not in newest:
            newest[one.warning] = len(found)
            found.append(_raised(one))
            continue
        held = found[newest[one.warning]]
        loads = [load for load in (held.load_lbf, one.load_lbf) if load is not None]
        seen_by = one.operator if one.happened == "acknowledged" else held.seen_by
        found[newest[one.warning]] = replace(
            held, load_lbf=max(loads, default=None), seen_by=seen_by
        )
    return tuple(found)


def _raised(one: PressWarned) -> PressWarning:
    return PressWarning(
        warning=one.warning,
        utc_ns=one.utc_ns,
        name=one.name,
        load_lbf=one.load_lbf,
        limit_lbf=one.limit_lbf,
    )
