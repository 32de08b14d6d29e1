"""Warnings of the press while no run was live, with the greatest load and who saw them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import msgspec

from ramphold.sample._bench_records import PressWarned, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class PressWarning:
    """The load came near the rating, or over it, while no run was live.

    Attributes:
        warning: which, such as `over rating`.
        utc_ns: when it was raised, UTC in ns.
        name: the weakest of press, cell and sensor.
        load_lbf: the greatest load recorded, in lbf; None where none was.
        limit_lbf: the limit that it was over, in lbf.
        seen_by: initials of the person who acknowledged it; empty where nobody did.
    """

    warning: str
    utc_ns: int
    name: str
    load_lbf: float | None
    limit_lbf: float | None
    seen_by: str = ""

    @property
    def over_pct(self) -> float | None:
        """How far the load exceeded the limit, in % of it; None where either is not known."""
        if self.load_lbf is None or not self.limit_lbf:
            return None
        return 100 * (self.load_lbf - self.limit_lbf) / self.limit_lbf


def press_warnings(records: Iterable[Record]) -> tuple[PressWarning, ...]:
    """Each warning once, in the order in which they were raised.

    A daemon that is restarted while a warning stands raises it again, as a new warning.
    """
    found: list[PressWarning] = []
    newest: dict[str, int] = {}
    for one in records:
        if not isinstance(one, PressWarned):
            continue
        if one.happened == "raised" or one.warning not in newest:
            newest[one.warning] = len(found)
            found.append(msgspec.convert(one, PressWarning, from_attributes=True))
            continue
        held = found[newest[one.warning]]
        loads = [load for load in (held.load_lbf, one.load_lbf) if load is not None]
        seen_by = one.operator if one.happened == "acknowledged" else held.seen_by
        found[newest[one.warning]] = replace(
            held, load_lbf=max(loads, default=None), seen_by=seen_by
        )
    return tuple(found)
