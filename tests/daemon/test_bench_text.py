"""A configuration is edited so that comments and unchanged lines stay."""

import tomllib
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.daemon.bench_text import edited

EXAMPLE = (Path(__file__).parents[2] / "systemd/bench.example.toml").read_text()


def wanted(text=EXAMPLE):
    return tomllib.loads(text)


def changed_lines(old, new):
    before = old.splitlines()
    return [line for line in new.splitlines() if line not in before]


def test_what_is_not_changed_stays_to_the_letter():
    assert edited(EXAMPLE, wanted()) == EXAMPLE


def test_a_changed_value_keeps_its_place_and_its_comment():
    new = wanted()
    new["press"]["rating"] = "60000lbf"
    assert changed_lines(EXAMPLE, edited(EXAMPLE, new)) == [
        'rating = "60000lbf"    # from the press\'s rating plate'
    ]


def test_a_new_key_goes_into_its_section_and_a_new_section_to_the_end():
    new = wanted()
    new["load"]["framing"] = "7E1"
    new["laboratory"] = {"name": "North"}
    lines = edited(EXAMPLE, new).splitlines()
    assert lines[lines.index('framing = "7E1"') - 1] == "readings_per_s = 10"
    assert lines[-2:] == ["[laboratory]", 'name = "North"']


def test_a_section_that_is_not_wanted_goes_with_its_header():
    new = wanted()
    del new["balance"]
    text = edited(EXAMPLE, new)
    assert "balance" not in text.replace("one balance", "")
    assert "# The bench: one press" in text


def test_a_reason_is_added_and_taken_back():
    new = wanted()
    new["unusual"] = [{"key": "[cell] bore", "value": "1.5 in", "reason": "old", "by": "AB"}]
    text = edited(EXAMPLE, new)
    assert tomllib.loads(text) == new
    assert text.startswith(EXAMPLE.rstrip())
    assert text.splitlines()[-5:-3] == ["[[unusual]]", 'key = "[cell] bore"']
    assert tomllib.loads(edited(text, wanted())) == wanted()


def test_a_file_in_another_layout_says_the_same_afterwards():
    dense = 'bench = "p"\npress.rating = "1lbf"\nload = { kind = "bridge" }  # at the press\n'
    new = tomllib.loads(dense) | {"press": {"rating": "2lbf"}}
    new["load"] = {"kind": "indicator", "port": "/dev/x"}
    assert tomllib.loads(edited(dense, new)) == new


KEYS = st.sampled_from(["a", "b", "bench", "rating", "port"])
VALUES = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    st.integers(-9, 9),
    st.floats(-10, 10),
    st.booleans(),
    st.lists(st.text("ab#\"']", max_size=4), max_size=2),
)
SECTIONS = st.dictionaries(st.sampled_from(["s", "load", "press"]), st.dictionaries(KEYS, VALUES))
DOCUMENTS = st.builds(
    lambda plain, sections, reasons: plain | sections | ({"unusual": reasons} if reasons else {}),
    st.dictionaries(KEYS, VALUES),
    SECTIONS,
    st.lists(st.dictionaries(KEYS, VALUES, min_size=1), max_size=2),
)


@given(DOCUMENTS, DOCUMENTS)
@settings(max_examples=60)
def test_whatever_is_wanted_is_what_the_text_says(first, second):
    text = edited("", first)
    assert tomllib.loads(text) == first
    assert tomllib.loads(edited(text, second)) == second
