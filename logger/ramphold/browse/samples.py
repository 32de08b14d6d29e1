"""Samples: the list, the newest first, by what people look for."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from datasette.utils.asgi import BadRequest, Request, Response
from msgspec import Struct

from ramphold.browse.links import sample_path, with_args
from ramphold.browse.site import Site
from ramphold.browse.words import clock_minute
from ramphold.clock import NS_PER_S
from ramphold.collector.archive import Archive
from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS
from ramphold.plain_text import check_plain
from ramphold.sample import Role, SampleState

_ROWS = 50
_DAY_NS = 86_400 * NS_PER_S
_CLASSES = tuple(f"{thousands}K" for thousands in range(1, 21))
_BEFORE = re.compile(r"[0-9]{1,19}\.[0-9a-f]{32}\.[0-9]{1,15}", re.ASCII)
# Times in ns have 64 bits.
_FIRST_YEAR, _END_YEAR, _LAST_NS = 1970, 2200, 2**63 - 1
# No other character of a text sorts behind it.
_LAST = "\U0010ffff"
_COLUMNS = """s.series, s.sample, s.received_utc_ns, s.laboratory_number, s.client_reference,
    s.size, s.role, s.state, s.crush_class, s.specimens, s.counted, s.trouble, f.bench, f.vouched,
    f.disputed"""
# In SQLite a CROSS JOIN is not reordered: the list is read by an index of its own table.
_FROM = """FROM sample_results s CROSS JOIN samples_in_force f
    WHERE f.series = s.series AND f.sample = s.sample"""
_ORDER = "ORDER BY s.received_utc_ns DESC, s.series DESC, s.sample DESC LIMIT ?"


class ListedSample(Struct, frozen=True, kw_only=True):
    """A row of the list; columns as in the table `sample_results`."""

    series: str
    sample: int
    received_utc_ns: int
    laboratory_number: str
    client_reference: str
    size: str
    role: str
    state: str
    crush_class: str | None
    specimens: int
    counted: int
    trouble: str
    bench: str
    vouched: str
    disputed: str

    @property
    def shown(self) -> dict[str, Any]:
        """The row as the page shows it."""
        marks = [self.disputed, self.trouble]
        if self.vouched != "vouched for":
            marks.append(self.vouched)
        return {
            "path": sample_path(self.series, self.sample),
            "number": self.laboratory_number,
            "reference": self.client_reference,
            "size": self.size,
            "role": self.role,
            "state": self.state,
            "crush_class": self.crush_class or "",
            "counted": f"{self.counted} of {self.specimens}",
            "received": clock_minute(self.received_utc_ns),
            "bench": self.bench,
            "marks": [one for one in marks if one],
            "disputed": bool(self.disputed),
        }


class Wanted(Struct, frozen=True, kw_only=True):
    """What is looked for; what is empty or None is not.

    Attributes:
        begins: how a laboratory number or a client reference begins, in any case.
        size, crush_class, state, role, bench: as in the list.
        first_utc_ns, end_utc_ns: received from, and before.
        before: time, series and sample of the last row of the page before.
    """

    begins: str = ""
    size: str = ""
    crush_class: str = ""
    state: str = ""
    role: str = ""
    bench: str = ""
    first_utc_ns: int | None = None
    end_utc_ns: int | None = None
    before: tuple[int, str, int] | None = None


async def samples_page(site: Site, request: Request) -> Response:
    """The list, with its filters."""
    asked = {name: request.args.get(name, "").strip() for name in _ASKED}
    wanted = _wanted(asked)
    found, benches = await site.read(lambda archive: (listed(archive, wanted), _benches(archive)))
    rows, older = found[:_ROWS], None
    if len(found) > _ROWS:
        last = rows[-1]
        mark = f"{last.received_utc_ns}.{last.series}.{last.sample}"
        older = with_args("/samples", {**asked, "before": mark})
    values = {
        "rows": [one.shown for one in rows],
        "asked": asked,
        "filtered": any(asked.values()),
        "older": older,
        "sizes": list(EDITIONS[CURRENT].stack),
        "classes": _CLASSES,
        "states": [str(one) for one in SampleState],
        "roles": [str(one) for one in Role],
        "benches": benches,
    }
    return await site.show(request, "samples.html", values)


def listed(archive: Archive, wanted: Wanted) -> list[ListedSample]:
    """The rows of a page, and one more if there are more."""
    where, values = _conditions(wanted)
    rows = archive.database.rows(
        f"SELECT {_COLUMNS} {_FROM} {where} {_ORDER}",
        (*values, _ROWS + 1),
    )
    names = ListedSample.__struct_fields__
    return [ListedSample(**dict(zip(names, row, strict=True))) for row in rows]


def _conditions(wanted: Wanted) -> tuple[str, Sequence[Any]]:
    parts: list[tuple[str, tuple[Any, ...]]] = []
    if wanted.begins:
        low = _lower(wanted.begins)
        two = (
            f"({_LOWER_NUMBER} >= ? AND {_LOWER_NUMBER} < ? "
            f"OR {_LOWER_REFERENCE} >= ? AND {_LOWER_REFERENCE} < ?)"
        )
        parts.append((two, (low, low + _LAST) * 2))
    chosen = ((name, getattr(wanted, name)) for name in ("size", "crush_class", "state", "role"))
    parts += [(f"s.{name} = ?", (value,)) for name, value in chosen if value]
    if wanted.bench:
        # Of one name there may be several series.
        parts.append(("s.series IN (SELECT series FROM benches WHERE bench = ?)", (wanted.bench,)))
    parts.append(("s.received_utc_ns >= ?", (wanted.first_utc_ns or 0,)))
    if wanted.end_utc_ns is not None:
        parts.append(("s.received_utc_ns < ?", (wanted.end_utc_ns,)))
    if wanted.before is not None:
        parts.append(("(s.received_utc_ns, s.series, s.sample) < (?, ?, ?)", wanted.before))
    where = " ".join(f"AND {text}" for text, _ in parts)
    return where, [value for _, values in parts for value in values]


_LOWER_NUMBER = "lower(s.laboratory_number COLLATE BINARY)"
_LOWER_REFERENCE = "lower(s.client_reference COLLATE BINARY)"
_ASKED = ("begins", "size", "crush_class", "state", "role", "bench", "first", "last", "before")


def _wanted(asked: dict[str, str]) -> Wanted:
    try:
        check_plain(asked, "the filter")
    except InputError as error:
        raise BadRequest(str(error)) from None
    first, last = _day(asked["first"]), _day(asked["last"])
    return Wanted(
        begins=asked["begins"],
        size=asked["size"],
        crush_class=asked["crush_class"],
        state=asked["state"],
        role=asked["role"],
        bench=asked["bench"],
        first_utc_ns=first,
        end_utc_ns=None if last is None else last + _DAY_NS,
        before=_before(asked["before"]),
    )


def _day(text: str) -> int | None:
    if not text:
        return None
    try:
        day = datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        raise BadRequest(f"{text[:40]!r} is no day: expected one such as 2026-11-28") from None
    if not _FIRST_YEAR <= day.year < _END_YEAR:
        raise BadRequest(f"{text} is in no year from {_FIRST_YEAR} to {_END_YEAR - 1}")
    return int(day.timestamp()) * NS_PER_S


def _before(text: str) -> tuple[int, str, int] | None:
    utc_ns, _, rest = text.partition(".")
    series, _, sample = rest.partition(".")
    if not text:
        return None
    if not _BEFORE.fullmatch(text):
        raise BadRequest("that link to older samples is not one of ours: begin at the newest")
    return min(int(utc_ns), _LAST_NS), series, int(sample)


def _lower(text: str) -> str:
    """Lower case as SQLite has it, which knows of ASCII alone."""
    return "".join(c.lower() if c.isascii() else c for c in text)


def _benches(archive: Archive) -> list[str]:
    rows = archive.database.rows("SELECT DISTINCT bench FROM benches_in_force ORDER BY bench")
    return [name for (name,) in rows]


ROUTES = ((r"/samples", samples_page),)
