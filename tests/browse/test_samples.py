"""The list of samples, and how people find one in it."""

import re
from html import unescape

import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.collector.archive import open_archive
from support.browsing import asked

FILED = 1_795_132_800 * 10**9


def numbers(answer):
    assert answer.status_code == 200, answer.text
    return re.findall(r'<th scope="row"><a href="[^"]*">([^<]*)</a>', answer.text)


def test_the_newest_sample_comes_first(ask):
    assert numbers(ask("samples")) == ["C-2", "C-1", "26-0418", "26-0417"]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({"begins": "26-"}, ["26-0418", "26-0417"]),
        ({"begins": "NORTH"}, ["26-0417"]),
        ({"begins": "<script"}, ["26-0418"]),
        ({"begins": "%"}, []),
        ({"size": "20/40"}, ["C-2", "C-1", "26-0418", "26-0417"]),
        ({"size": "40/70"}, []),
        ({"crush_class": "9K"}, ["26-0417"]),
        ({"state": "reviewed", "role": "client"}, ["26-0418", "26-0417"]),
        ({"bench": "p1"}, ["C-2", "C-1", "26-0418", "26-0417"]),
        ({"bench": "p2"}, []),
        ({"first": "2026-03-04"}, []),
        ({"last": "2026-03-02"}, []),
        ({"first": "2026-03-03", "last": "2026-03-03", "begins": "c-"}, ["C-2", "C-1"]),
    ],
)
def test_a_filter_leaves_what_it_names(ask, wanted, found):
    assert numbers(ask("samples", params=wanted)) == found


@pytest.mark.parametrize(
    "wanted",
    [
        {"first": "yesterday"},
        {"before": "1.x"},
        {"last": "2026-13-01"},
        {"last": "9999-12-31"},
        {"first": "0001-01-01"},
        {"begins": "a\0b"},
        {"bench": "\x1b[2J"},
        {"before": f"{'9' * 30}.{'a' * 32}.1"},
        {"before": f"1.{'a' * 32}.-1"},
    ],
)
def test_a_filter_that_can_not_be_read_says_what_was_expected(ask, wanted):
    answer = ask("samples", params=wanted)
    assert answer.status_code == 400
    assert "<h1>Bad Request</h1>" in answer.text
    assert "\0" not in answer.text
    assert "\x1b" not in answer.text


def test_the_last_moment_that_there_is_is_no_fault(ask):
    mark = f"9999999999999999999.{'a' * 32}.1"
    assert len(numbers(ask("samples", params={"before": mark}))) == 4


@pytest.mark.parametrize("wanted", [{"size": "x" * 5000}, {"begins": "'; DROP TABLE events; --"},
                                    {"crush_class": "9K' OR 1=1"}, {"unknown": "1"}])  # fmt: skip
def test_a_filter_that_fits_nothing_or_is_no_filter_does_no_harm(ask, wanted):
    found = numbers(ask("samples", params=wanted))
    assert found == ([] if "unknown" not in wanted else ["C-2", "C-1", "26-0418", "26-0417"])


def test_a_long_list_goes_on_where_it_ended(tmp_path):
    path = str(tmp_path / "archive.db")
    with open_archive(path) as archive, archive.transaction():
        archive.database.write(
            "INSERT INTO benches (series, bench, first_utc_ns, heard_utc_ns) "
            "VALUES (?, 'p1', 1, 1)",
            ("a" * 32,),
        )
        for sample in range(120):
            # Three at a time have one time of receipt.
            archive.database.write(
                "INSERT INTO sample_results VALUES (?, ?, ?, 'x', 'sand', '20/40', 'e', 'client', "
                "'in test', ?, NULL, NULL, NULL, NULL, 0, 0, '', '', 1, 1, 'l')",
                ("a" * 32, sample, f"{sample:03}", FILED + sample // 3),
            )
    with asked(BrowseConfig(archive=path)) as ask:
        found, page = [], ask("samples?size=20/40")
        while True:
            found += numbers(page)
            links = re.findall(r'<a href="([^"]*)" rel="next">', page.text)
            if not links:
                break
            page = ask(unescape(links[0]))
    assert found == [f"{sample:03}" for sample in reversed(range(120))]


def test_a_hostile_client_reference_is_text(ask):
    page = ask("samples").text
    assert "<script>alert" not in page
    assert (
        "&lt;script&gt;alert(1)&lt;/script&gt;&#34;&#39;&amp;{{7*7}}\u2039U+202E\u203aevil" in page
    )


def test_numbers_stand_to_the_right_and_heads_name_their_units(ask):
    page = ask("samples").text
    assert '<td class="num">9K</td>' in page
    assert '<th scope="col" class="num">Received, UTC</th>' in page
