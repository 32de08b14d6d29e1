"""Every place says the part that can be trusted least; the instruments say what to do."""

import pytest

from ramphold.control.server_methods import Status
from ramphold.trust import TRUST_PARTS, TrustLevel, TrustPart
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.trust_words import trust_lines, trust_words, unusual_lines


def parts(**levels):
    return tuple(
        TrustPart(name=name, level=TrustLevel(levels.get(name, "well")), text=f"about {name}")
        for name in TRUST_PARTS
    )


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ({}, "all well"),
        ({"backup": "doubtful"}, "DOUBT backup"),
        ({"backup": "doubtful", "server": "bad"}, "BAD server"),
        ({"recording": "bad", "server": "bad"}, "BAD recording"),
        ({"certificates": "doubtful"}, "DOUBT certificates"),
    ],
)
def test_the_worst_part_is_a_word_that_needs_no_colour(levels, words):
    assert trust_words(BenchState(trust=parts(**levels))) == words


def test_nothing_is_said_before_the_daemon_told_or_while_it_is_not_heard():
    assert trust_words(BenchState()) == ""
    assert trust_words(BenchState(trust=parts(), lost="gone")) == ""


@pytest.mark.parametrize("name", TRUST_PARTS)
def test_the_longest_word_stands_beside_the_caution_on_sixty_columns(name):
    """58 columns are left within the margins."""
    word = trust_words(BenchState(trust=parts(**{name: "doubtful"})))
    assert len("Observes only: no guard, no load limiter.") + len(word) < 60


def test_the_lines_have_the_worst_first_with_level_name_and_advice():
    lines = trust_lines(parts(backup="doubtful", server="bad"))
    assert [line.text for line in lines[:3]] == [
        "bad       server        about server",
        "doubtful  backup        about backup",
        "well      recording     about recording",
    ]


def test_an_unusual_value_stands_below_the_parts_with_its_reason():
    status = Status(bench="b", version="1", t_ns=0, utc_ns=0, instruments=(), run=None,
                    unusual=("[cell] bore of 1.5 in: old (AB)",))  # fmt: skip
    (line,) = unusual_lines(BenchState(status=status))
    assert line.text == "UNUSUAL   [cell] bore of 1.5 in: old (AB)"
    assert unusual_lines(BenchState()) == ()
