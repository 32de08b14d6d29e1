"""A walk through all links: each page is there, and reads no large table from end to end."""

import re
from html import unescape
from pathlib import Path

import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.collector._archive_sqlite import SqliteDatabase
from support.browsing import asked

#: What may be read whole: a row a bench, at most 200 refused messages of each, or a few hundred
#: rows that a subquery has already found (`newest`). All that grows
#: with the work (events, run_data, the tables of results, heads) must be searched.
SMALL = {
    "benches", "b", "a", "o", "benches_in_force", "forks", "decisions", "bench_keys",
    "CONSTANT ROW", "archive_steps", "quarantine", "quarantine_dropped", "q",
    "newest",
}  # fmt: skip
FILTERS = (
    "samples?begins=26", "samples?size=20/40", "samples?crush_class=9K", "samples?role=control",
    "samples?state=reviewed", "samples?bench=p1", "samples?first=2026-01-01&last=2026-12-31",
    "samples?size=20/40&state=reviewed&bench=p1&begins=n",
)  # fmt: skip


@pytest.fixture(scope="module")
def walked(sqlite_url):
    """Every statement that a walk over all pages runs, with its values; and the pages walked."""
    statements, pages = {}, {}
    plain = SqliteDatabase.rows

    def noted(self, sql, values=()):
        statements.setdefault(sql, tuple(values))
        return plain(self, sql, values)

    with pytest.MonkeyPatch.context() as patch, asked(BrowseConfig(archive=sqlite_url)) as ask:
        patch.setattr(SqliteDatabase, "rows", noted)
        waiting = ["/laboratory", *(f"/laboratory/{one}" for one in FILTERS)]
        while waiting:
            path = waiting.pop()
            if path in pages:
                continue
            answer = pages[path] = ask(path)
            if answer.headers["content-type"].startswith("text/html"):
                links = re.findall(r'(?:href|src|data-url)="(/[^"#]*)', answer.text)
                waiting += map(unescape, links)
    return statements, pages


def test_every_link_leads_somewhere(walked):
    _, pages = walked
    assert len(pages) > 30
    assert {path: one.status_code for path, one in pages.items() if one.status_code != 200} == {}


def test_no_statement_reads_a_large_table_from_end_to_end(walked, sqlite_url):
    statements, _ = walked
    assert len(statements) > 20
    database = SqliteDatabase(Path(sqlite_url), read_only=True)
    scanned = {}
    for sql, values in statements.items():
        plan = [row[3] for row in database.rows(f"EXPLAIN QUERY PLAN {sql}", values)]
        wrong = [step for step in plan if step.startswith("SCAN ") and not small(step)]
        if wrong:
            scanned[sql] = wrong
    database.close()
    assert scanned == {}


def small(step):
    name = step.removeprefix("SCAN ").partition(" USING")[0]
    # What a subquery reads has lines of its own.
    return name in SMALL or name.startswith("(subquery")
