"""Every combination of the facts at the press has one row, and no row says what is not so."""

from itertools import product

import pytest

from ramphold_tui.view.elements import Sound, Tone
from ramphold_tui.view.situation import (
    LIVE,
    PULLS,
    Ask,
    Link,
    LoadLevel,
    PressSituation,
    Recording,
    RunOutcome,
    RunStage,
    Warned,
    WarnedStage,
)
from ramphold_tui.view.situation_table import SITUATIONS, row_for

PULLING = {"SQUEEZE", "FASTER", "PULL ON", "{STROKE} STROKE", "TOP UP", "RETURN LEVER"}
OVER = {LoadLevel.OVER_TARGET, LoadLevel.OVER_CEILING, LoadLevel.OVER_RATING}
UNKNOWN = {LoadLevel.UNKNOWN, LoadLevel.SATURATED}
ENDED = {RunStage.COMPLETE, RunStage.STOPPED, RunStage.INTERRUPTED}
ON_THE_CELL = set(LoadLevel) - UNKNOWN - {LoadLevel.NONE}
WARNINGS = [
    (Warned.NOTHING, WarnedStage.PASSED),
    *product(set(Warned) - {Warned.NOTHING}, WarnedStage),
]


def all_situations():
    """The whole product: over a million situations."""
    for link, run, load, recording, (warned, stage), outcome, ask in product(
        Link, RunStage, LoadLevel, Recording, WARNINGS, RunOutcome, Ask
    ):
        # Elsewhere nobody reads it.
        for coarse in (False, True) if run is RunStage.READY else (False,):
            yield PressSituation(link, run, load, recording, warned, stage, outcome, ask, coarse)


@pytest.fixture(scope="module")
def said():
    """The row of each situation."""
    return [(now, row_for(now)) for now in all_situations()]


def linked(said):
    return [(now, row) for now, row in said if now.link is Link.UP]


def test_every_combination_has_a_row_and_every_row_a_combination(said):
    assert {row.name for _, row in said} == {row.name for row in SITUATIONS}
    assert len({row.name for row in SITUATIONS}) == len(SITUATIONS)


def test_a_lost_link_is_the_word_whatever_else_is_known(said):
    assert {row.word for now, row in said if now.link is Link.LOST} == {"NO LINK"}


def test_a_word_that_asks_for_a_pull_needs_a_live_run_and_a_known_load_under_its_limits(said):
    for now, row in said:
        if row.word in PULLING:
            assert now.link is Link.UP
            assert now.run in LIVE
            assert now.load not in OVER | UNKNOWN
            assert now.ask in PULLS


def test_no_word_asks_for_a_pull_that_the_pacing_does_not_ask_for(said):
    for now, row in said:
        if now.ask in {Ask.LET_CATCH_UP, Ask.SLOWER, Ask.WAIT, Ask.STOP, Ask.HANDS_OFF}:
            assert row.word not in PULLING


def test_whatever_the_pacing_asks_for_has_its_own_word_in_seating_ramp_and_hold(said):
    words = {
        Ask.STROKE: "{STROKE} STROKE",
        Ask.SQUEEZE: "SQUEEZE",
        Ask.FASTER: "FASTER",
        Ask.SLOWER: "SLOWER",
        Ask.PULL_ON: "PULL ON",
        Ask.STOP: "STOP",
        Ask.HANDS_OFF: "HANDS OFF",
        Ask.RETURN_LEVER: "RETURN LEVER",
        Ask.TOP_UP: "TOP UP",
    }
    for now, row in linked(said):
        paced = now.run in {RunStage.SEATING, RunStage.RAMP, RunStage.HOLD}
        known = now.load not in OVER | UNKNOWN
        if paced and known and now.warned is Warned.NOTHING and now.ask in words:
            assert row.word == words[now.ask]


def test_a_load_that_does_not_answer_keeps_its_word_once_it_is_seen_as_nothing_is_known_of_it(said):
    names = set()
    for _, row in linked(said):
        if row.name.startswith("load ") and "answer" in row.name:
            names.add(row.name)
            assert row.word == "NO ANSWER"
            assert "go by the gauge, release if in doubt" in row.sentence
    assert len(names) == 2


def test_no_cue_is_said_for_too_few_readings_alone(said):
    assert {row.name for _, row in said if row.word == "NO CUE"} == {"too few readings"}


def test_a_press_too_coarse_for_the_target_is_said_before_the_load_rises_and_only_then(said):
    for now, row in linked(said):
        if row.coarse:
            assert now.run is RunStage.READY
            assert row.word == "READY"
        known = now.load not in UNKNOWN | {LoadLevel.OVER_RATING}
        plain = known and now.warned is Warned.NOTHING and now.ask is not Ask.TOO_FEW
        if now.run is RunStage.READY and plain:
            assert bool(row.coarse) is now.coarse


def test_too_few_readings_are_said_before_contact_and_until_the_hold_is_up(said):
    for now, row in linked(said):
        followed = now.run in LIVE - {RunStage.RELEASE}
        known = now.load not in UNKNOWN | {LoadLevel.OVER_RATING}
        if followed and known and now.warned is Warned.NOTHING and now.ask is Ask.TOO_FEW:
            assert (row.name, row.word) == ("too few readings", "NO CUE")


def test_only_the_end_of_a_hold_or_a_run_or_an_overload_asks_to_open_the_valve(said):
    opening = {"RELEASE", "RELEASE FULLY", "OPEN VALVE"}
    for now, row in said:
        if row.word in opening:
            assert now.run not in LIVE or now.run is RunStage.RELEASE
        elif "valve slowly" in row.next:
            assert now.warned is Warned.OVER_RATING or now.load is LoadLevel.OVER_RATING


def test_load_that_no_run_follows_is_said_to_be_unrecorded_or_left(said):
    loaded = [
        (now, row) for now, row in linked(said) if now.run not in LIVE and now.load in ON_THE_CELL
    ]
    rating = {"OVER RATING", "NEAR RATING"}
    assert {row.word for _, row in loaded} == {"NOT RECORDED", "RELEASE FULLY"} | rating
    for now, row in loaded:
        if row.word == "RELEASE FULLY":
            assert now.load is LoadLevel.RESIDUAL
            assert now.run is not RunStage.NONE
        if row.word == "NOT RECORDED":
            assert row.next == "start a run, or release"
        assert not row.next.startswith("empty")


def test_the_cell_is_emptied_and_sieved_only_without_load_and_if_the_run_counts(said):
    for now, row in linked(said):
        if "sieve the specimen" in row.next:
            assert now.load is LoadLevel.NONE
            assert now.outcome in {RunOutcome.PASSED, RunOutcome.COUNTS}
        if row.next.startswith("empty the cell"):
            assert now.load is LoadLevel.NONE
            assert now.run in ENDED


def test_a_failed_run_asks_for_a_decision_and_no_sieving(said):
    failed = [
        row
        for now, row in linked(said)
        if now.run in ENDED
        and now.outcome is RunOutcome.FAILED
        and now.load in {LoadLevel.NONE, LoadLevel.RESIDUAL}
        and now.warned not in {Warned.NEAR_RATING, Warned.OVER_RATING}
    ]
    assert {row.word for row in failed} == {"FAILED", "RELEASE FULLY"}
    assert all("decide" in row.next and "no sieving before that" in row.next for row in failed)


def test_a_run_that_was_decided_on_asks_for_no_decision_and_says_what_follows(said):
    follows = {RunOutcome.COUNTS: "sieve the specimen", RunOutcome.LEFT_OUT: "the next run"}
    words = {RunOutcome.COUNTS: "COUNTS", RunOutcome.LEFT_OUT: "NOT COUNTED"}
    for now, row in linked(said):
        if now.outcome in follows and now.run in ENDED:
            assert "decide" not in row.next
            quiet = now.load is LoadLevel.NONE and now.warned is Warned.NOTHING
            if quiet:
                assert row.word == words[now.outcome]
                assert follows[now.outcome] in row.next


def test_a_run_passes_on_the_screen_only_once_it_is_written(said):
    for now, row in said:
        if row.word == "PASSED":
            assert (now.run, now.outcome) == (RunStage.COMPLETE, RunOutcome.PASSED)
            assert now.load is LoadLevel.NONE


def test_recorded_is_said_of_a_written_run_alone(said):
    for now, row in linked(said):
        words = f"{row.word} {row.sentence} {row.next}".lower()
        claims = "recorded" in words and "not recorded" not in words
        assert not claims or now.run in ENDED


def test_a_run_whose_end_the_disk_refuses_says_so_once_the_load_is_off(said):
    ending = {
        row.word
        for now, row in linked(said)
        if (now.run, now.load, now.recording)
        == (RunStage.ENDING, LoadLevel.NONE, Recording.FAILING)
        and now.warned is Warned.NOTHING
    }
    assert ending == {"NOT WRITTEN"}


def test_a_live_run_that_is_not_written_says_so_in_place_of_its_cue_until_that_is_seen(said):
    known = set(LoadLevel) - UNKNOWN - {LoadLevel.OVER_RATING}
    for now, row in linked(said):
        if now.warned is Warned.NOT_RECORDED and now.run in LIVE and now.load in known:
            stands = now.stage is WarnedStage.STANDING and now.recording is Recording.FAILING
            assert (row.name == "run not being written") == stands
            assert (row.word == "NOT RECORDED") == stands


def test_a_warning_that_has_passed_gives_the_word_back(said):
    without = {
        (now.link, now.run, now.load, now.recording, now.outcome, now.ask, now.coarse): row
        for now, row in said
        if now.warned is Warned.NOTHING
    }
    for now, row in said:
        if now.stage is WarnedStage.PASSED:
            key = (now.link, now.run, now.load, now.recording, now.outcome, now.ask, now.coarse)
            assert row is without[key]


def test_a_standing_overload_is_an_alarm_with_its_sound_wherever_its_limit_holds(said):
    for now, row in linked(said):
        if now.stage is not WarnedStage.STANDING:
            continue
        rated = now.warned in {Warned.NEAR_RATING, Warned.OVER_RATING}
        if rated or (now.warned is Warned.OVER_CEILING and now.run in LIVE):
            assert (row.tone, row.sound) == (Tone.ALARM, Sound.OVERLOAD)


def test_a_load_that_is_not_known_has_no_figure_and_no_cue(said):
    for now, row in linked(said):
        if now.load in UNKNOWN and row.tone is not Tone.ALARM:
            assert row.word in {"NO READING", "SATURATED"}
            assert "{load}" not in row.sentence


def test_in_a_hold_with_nothing_to_do_the_seconds_to_go_are_the_word(said):
    for now, row in linked(said):
        idle = now.run is RunStage.HOLD and now.ask is Ask.WAIT
        quiet = now.load not in UNKNOWN | {LoadLevel.OVER_RATING}
        if idle and quiet and now.warned is Warned.NOTHING:
            assert row.word == "{to_go}"


@pytest.mark.parametrize("row", SITUATIONS, ids=lambda row: row.name)
def test_every_situation_is_told_apart_by_words_and_not_by_colour_alone(row):
    assert row.word
    twins = [
        one
        for one in SITUATIONS
        if (one.word, one.sentence, one.next) == (row.word, row.sentence, row.next)
    ]
    assert twins == [row]


def test_every_sound_of_the_press_is_in_the_table():
    of_the_press = set(Sound) - {Sound.SIEVE_DONE}
    assert {row.sound for row in SITUATIONS if row.sound} == of_the_press
