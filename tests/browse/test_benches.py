"""What the page says of each bench: from the archive, and what is not known is called unknown."""

import pytest

from ramphold.browse.benches import doing
from ramphold.browse.config import BrowseConfig
from ramphold.browse.words import ago
from ramphold.collector.archive import open_archive
from ramphold.publish.broker_config import BrokerConfig
from ramphold.trust import BACKUP, CLOCK, TrustLevel, TrustPart
from ramphold.wire import StateMessage
from support.archived import keep
from support.browsing import asked

FILED = 1_795_132_800 * 10**9


def test_without_a_broker_nothing_is_claimed_of_what_a_bench_is_doing(ask):
    page = ask().text
    assert "What they do now is unknown: no broker is named." in page
    assert '<p class="doing">unknown' in page


def test_a_bench_has_its_newest_record_its_certificate_and_who_vouches_for_it(ask):
    page = ask().text
    assert "review by MB, 2026-03-03 08:54" in page
    assert "LC-26-014 of the load, until 2027-01-13" in page
    assert "0 of " in page
    assert "the bench has said nothing of them" in page


@pytest.mark.parametrize(
    ("state", "word"),
    [
        (StateMessage(online=True), "idle"),
        (StateMessage(online=True, run="hold", stress_psi=8002.0), "hold"),
        (StateMessage(online=False, run="hold"), "away"),
    ],
)
def test_a_state_is_one_word(state, word):
    assert doing(state) == word


@pytest.mark.parametrize(
    ("span_s", "words"),
    [(0, "0 s ago"), (119, "119 s ago"), (120, "2 min ago"), (7200, "2 h ago"),
     (200_000, "2 d ago"), (-1, "0 s ago"), (-3600, "dated later than now")],
)  # fmt: skip
def test_an_age_has_one_unit_and_none_is_claimed_of_what_is_dated_later_than_now(span_s, words):
    assert ago(span_s * 10**9) == words


def test_clock_and_backup_are_what_the_bench_told_the_collector_last(tmp_path):
    path = str(tmp_path / "archive.db")
    parts = (
        TrustPart(name=CLOCK, level=TrustLevel.BAD, text="not synchronised"),
        TrustPart(name=BACKUP, level=TrustLevel.WELL, text="the newest copy is 3 h old"),
    )
    with open_archive(path) as archive:
        keep(
            archive,
            StateMessage(
                online=True, waiting=7, trust=parts, troubles=("load: <b>no</b> reading",)
            ),
            FILED,
            FILED,
        )
    with asked(BrowseConfig(archive=path)) as ask:
        page = ask().text
    assert '<span class="bad">bad</span>: not synchronised' in page
    assert '<span class="good">well</span>: the newest copy is 3 h old' in page
    assert "7 records" in page
    assert "load: &lt;b&gt;no&lt;/b&gt; reading" in page


def test_a_broker_that_can_not_be_used_is_named_and_the_pages_go_on(url, tmp_path):
    broker = BrokerConfig(host="127.0.0.1", ca=str(tmp_path / "none.crt"))
    with asked(BrowseConfig(archive=url, broker=broker)) as ask:
        page = ask()
        assert page.status_code == 200
        assert "none.crt: expected PEM files for TLS" in page.text


def test_two_benches_of_one_name_are_told(tmp_path):
    path = str(tmp_path / "archive.db")
    with open_archive(path) as archive, archive.transaction():
        for series, first, heard in (("a" * 32, 1, 9), ("b" * 32, 5, 9)):
            archive.database.write(
                "INSERT INTO benches (series, bench, first_utc_ns, heard_utc_ns) "
                "VALUES (?, 'p1', ?, ?)",
                (series, first, heard),
            )
    with asked(BrowseConfig(archive=path)) as ask:
        assert "Two benches are called p1" in ask().text


def test_the_pages_begin_with_or_without_a_last_slash(ask):
    assert ask("/laboratory/").status_code == ask("/laboratory").status_code == 200
