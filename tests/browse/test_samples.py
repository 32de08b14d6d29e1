"""The list of samples, and how people find one in it."""

import re

import pytest


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
    "wanted", [{"first": "yesterday"}, {"before": "1.x"}, {"last": "2026-13-01"}]
)
def test_a_filter_that_can_not_be_read_says_what_was_expected(ask, wanted):
    answer = ask("samples", params=wanted)
    assert answer.status_code == 400
    assert "<h1>Bad Request</h1>" in answer.text


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
