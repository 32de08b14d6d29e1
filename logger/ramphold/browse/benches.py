"""Benches: what each is doing now, and what waits for a person."""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from typing import Any

import msgspec
from datasette.utils.asgi import Request, Response
from msgspec import Struct

from ramphold.browse.live import BenchNow
from ramphold.browse.site import Site
from ramphold.browse.words import ago, clock_minute, number
from ramphold.clock import NS_PER_S
from ramphold.collector.archive import Archive, BenchSeries, QuarantinedMessages
from ramphold.collector.archive_status import doubled
from ramphold.sample import CertificateTaken, kind_name
from ramphold.trust import TrustLevel, TrustPart
from ramphold.undecodable import UNDECODABLE
from ramphold.wire import StateMessage, decode_body

_NEWEST = "SELECT kind, operator, utc_ns FROM events WHERE series = ? AND record = ?"
_SOON_D = 30
_SHOWN = 300


class _Known(Struct, frozen=True, kw_only=True):
    """What the archive has of a bench: its newest record, certificates, what was refused."""

    bench: BenchSeries
    newest: tuple[str, str, int] | None
    certificates: list[CertificateTaken]
    refused: QuarantinedMessages | None


async def benches_page(site: Site, request: Request) -> Response:
    """Every bench that stands."""
    utc_ns = site.clock.utc_ns()
    found = await site.read(_gathered)
    values = {
        "doubled": sorted(doubled([one.bench for one in found])),
        "benches": [_bench(one, site.live.of(one.bench.series), utc_ns) for one in found],
        "why_unknown": site.live.why_unknown,
    }
    return await site.show(request, "benches.html", values)


def _gathered(archive: Archive) -> list[_Known]:
    refused = {one.bench: one for one in archive.quarantined()}
    found = []
    for one in archive.benches():
        if one.in_force:
            rows = archive.database.rows(_NEWEST, (one.series, one.newest))
            known = _Known(
                bench=one,
                newest=rows[0] if rows else None,
                certificates=_certificates(archive, one.series),
                refused=refused.get(one.bench),
            )
            found.append(known)
    return found


def _certificates(archive: Archive, series: str) -> list[CertificateTaken]:
    """The newest certificate of each instrument."""
    newest: dict[str, CertificateTaken] = {}
    for body in archive.bodies_of_kinds(series, [kind_name(CertificateTaken)]):
        record = decode_body(body)
        if isinstance(record, CertificateTaken):
            newest[record.instrument] = record
    return list(newest.values())


def _bench(known: _Known, now: BenchNow | None, utc_ns: int) -> dict[str, Any]:
    one, newest, refused = known.bench, known.newest, known.refused
    told = now.state if now else _told(one)
    return {
        "name": one.bench,
        "disputed": one.standing == "disputed",
        "doing": doing(now.state) if now else "unknown",
        "load": _load(now.state) if now else "",
        "age": ago(utc_ns - now.said_utc_ns) if now else "",
        "heard": clock_minute(one.heard_utc_ns),
        "newest": newest and {
            "number": number(one.newest, ",d"),
            "kind": newest[0],
            "by": newest[1],
            "when": clock_minute(newest[2]),
            "age": ago(utc_ns - newest[2]),
        },
        "waiting": number(told.waiting if told else one.waiting, ",d"),
        "missing": max(one.newest, 0 if one.waiting else one.told_newest) - one.filed,
        "vouched": number(one.vouched, ",d"),
        "filed": number(one.filed, ",d"),
        "contradicted": one.contradicted,
        "refused": refused and {
            "messages": number(refused.messages + refused.dropped, ",d"),
            "reason": refused.reason[:_SHOWN],
        },
        "parts": [_part(part) for part in told.trust] if told else [],
        "troubles": [text[:_SHOWN] for text in told.troubles] if told else [],
        "certificates": [
            {"name": it.certificate, "of": it.instrument, "due": it.due, "left": left}
            for it, left in _due(known.certificates, utc_ns)
        ],
    }  # fmt: skip


def doing(state: StateMessage) -> str:
    """What a bench is doing, in one or two words."""
    if not state.online:
        return "away"
    return state.run or "idle"


def _load(state: StateMessage) -> str:
    """The live run's figure: its load, its target, and for how long it is held."""
    if state.run is None or not state.online:
        return ""
    parts = [f"{number(state.stress_psi, ',.0f')} psi"]
    if state.target_psi is not None:
        parts.append(f"of {number(state.target_psi, ',.0f')} psi")
    if state.hold_s is not None:
        parts.append(f"held for {number(state.hold_s, '.0f')} s")
    return " ".join(parts)


def _told(one: BenchSeries) -> StateMessage | None:
    """What the bench told the collector last; None before it told anything that can be read."""
    try:
        return msgspec.json.decode(one.state, type=StateMessage | None)
    except UNDECODABLE:
        return None


def _part(part: TrustPart) -> dict[str, str]:
    return {
        "name": part.name,
        "level": str(part.level),
        "text": part.text[:_SHOWN],
        "tone": {TrustLevel.WELL: "good", TrustLevel.BAD: "bad"}.get(part.level, "doubtful"),
    }


def _due(
    certificates: Sequence[CertificateTaken], utc_ns: int
) -> Iterator[tuple[CertificateTaken, str]]:
    """Each certificate with how long it is in force yet, the first that is due first."""
    today = datetime.fromtimestamp(utc_ns // NS_PER_S, UTC).date()
    for one in sorted(certificates, key=lambda one: one.due):
        try:
            left_d = (date.fromisoformat(one.due) - today).days
        except ValueError:
            continue
        if left_d < 0:
            yield one, f"past due by {-left_d} d"
        else:
            yield one, f"due in {left_d} d" if left_d < _SOON_D else ""


ROUTES = (("/?", benches_page),)
