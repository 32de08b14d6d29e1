"""The sieve timers as words and bars. Times are literals on the screen's own clock."""

import pytest

from ramphold.control.sample_methods import SampleSheet
from ramphold.control.shaker_methods import ShakingNow
from ramphold.sample import CRUSH, SIEVING, ShakingStarted, Tick, Ticked
from ramphold.testing.samples import SampleBook
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sieve_timers import (
    WaitingForShaker,
    just_done,
    sieve_banner,
    sieve_meters,
    sieve_timer,
    sieve_words,
    waiting_of_sample,
)

S = 10**9


def sieve(number, to_go_s, label="a"):
    told = ShakingNow(
        shaking=number,
        sample=1,
        laboratory_number="26-0417",
        specimen=number,
        label=label,
        operator="KL",
        planned_s=600.0,
        to_go_s=to_go_s,
    )
    return sieve_timer(told, 1000 * S)


@pytest.mark.parametrize(
    ("to_go_s", "words"),
    [
        ((), ""),
        ((192.0,), "sieve 1 running, next 3:12"),
        ((600.0, 191.2), "sieve 2 running, next 3:12"),
        ((-5.0, 60.0), "! SIEVE DONE: 1, next 1:00"),
        ((-5.0, -90.0), "! SIEVE DONE: 2"),
        ((0.0,), "! SIEVE DONE: 1"),
    ],
)
def test_the_timers_are_said_in_a_few_words(to_go_s, words):
    sieves = [sieve(number, one) for number, one in enumerate(to_go_s)]
    assert sieve_words(sieves, 1000 * S) == words
    assert len(sieve_words(sieves, 1000 * S)) <= 30


def test_a_timer_goes_on_without_the_daemon():
    one = sieve(1, 192.0)
    assert sieve_words([one], 1100 * S) == "sieve 1 running, next 1:32"
    assert sieve_words([one], 1192 * S) == "! SIEVE DONE: 1"


def test_the_next_one_to_be_done_is_the_large_one():
    head = sieve_banner([sieve(1, 300.0, "late"), sieve(2, 59.1, "soon")], 1000 * S)
    assert (head.word, head.detail) == ("1:00", "next done: soon, 26-0417")
    done = sieve_banner([sieve(1, -65.0)], 1000 * S)
    assert (done.word, done.tone) == ("DONE", Tone.CAUTION)
    assert done.detail == "a, 26-0417, 65 s ago: take it off and weigh it"
    assert sieve_banner([], 1000 * S).word == "--"


def test_each_timer_is_a_bar_that_fills_towards_its_end():
    meters = sieve_meters([sieve(1, 450.0, "b"), sieve(2, -3.0, "a")], 1000 * S)
    assert [meter.label for meter in meters] == ["a, 26-0417", "b, 26-0417"]
    assert [meter.share for meter in meters] == [1.0, 0.25]
    assert [meter.text for meter in meters] == ["done 3.0 s ago", "7:30 to go"]
    assert meters[0].tone is Tone.CAUTION


def test_only_what_ended_a_short_while_ago_is_worth_a_bell():
    sieves = [sieve(1, 1.0), sieve(2, 0.0), sieve(3, -599.0), sieve(4, -601.0)]
    assert just_done(sieves, 1000 * S) == {2, 3}


def test_a_crushed_specimen_of_a_sample_waits_until_it_is_on_the_shaker():
    book = SampleBook(tests=(CRUSH,))
    book.specimen(1)
    for tick in Tick:
        book.write(Ticked, specimen=1, what=tick)
    book.weigh(40.0, "charge", specimen=1)
    sheet = lambda: SampleSheet(record=book.record(), next=book.steps())  # noqa: E731
    assert waiting_of_sample(sheet()) == ()
    book.run(1)
    assert waiting_of_sample(sheet()) == (WaitingForShaker(label="a, 26-0417", specimen=1),)
    book.write(ShakingStarted, specimen=1, planned_s=600.0)
    assert waiting_of_sample(sheet()) == ()


def test_a_stack_that_is_weighed_out_waits_for_the_shaker():
    book = SampleBook(tests=(SIEVING,), sieves_net=True)
    book.weigh(100.0, "charge", test=SIEVING)
    sheet = SampleSheet(record=book.record(), next=book.steps())
    assert waiting_of_sample(sheet) == (
        WaitingForShaker(label="sieve analysis, 26-0417", sample=1),
    )
