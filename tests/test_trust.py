"""Six parts of trust, each well, doubtful or bad: over all values that their rules tell apart.

The limits are our own (common practice, no source).
"""

from itertools import product

import pytest

from ramphold import trust
from ramphold.trust import TrustLevel, TrustPart, worst

WELL, DOUBTFUL, BAD = TrustLevel
DAY_S = 86_400.0
AGES_S = (None, 0.0, 1.0, 3.1, 3700.0, 8 * DAY_S, 40 * DAY_S)


def bad(name):
    return TrustPart(name=name, level=BAD, text="so")


def test_the_worst_part_is_the_first_of_those_that_are_as_bad():
    doubt = TrustPart(name="backup", level=DOUBTFUL, text="so")
    assert worst([doubt, bad("clock"), bad("server")]).name == "clock"
    assert worst([]) is None


@pytest.mark.parametrize(
    ("refused", "age_s", "runs_left"),
    [*product(("", "it is full"), AGES_S, (None, 0, 1, 19, 20, 9e6))],
)
def test_recording_is_well_only_where_something_is_written_and_has_room(refused, age_s, runs_left):
    found = trust.recording(refused=refused, tail=None, age_s=age_s, runs_left=runs_left)
    silent = age_s is not None and age_s > 3
    if refused or silent or runs_left == 0:
        assert found.level is BAD
    else:
        assert found.level is (WELL if runs_left is not None and runs_left >= 20 else DOUBTFUL)
    assert not refused or refused in found.text


@pytest.mark.parametrize(
    ("runs_left", "said"),
    [
        (20, "20 runs"),
        (9999, "9999 runs"),
        (10_000, "10000 runs or more"),
        (9**9, "10000 runs or more"),
    ],
)
def test_a_disk_with_much_room_is_said_to_have_so_much_or_more(runs_left, said):
    found = trust.recording(refused="", tail=None, age_s=None, runs_left=runs_left)
    assert found.text == f"room for {said}"


def test_what_is_refused_is_said_to_wait_where_it_waits():
    said = trust.recording(refused="full", tail="/run/x", age_s=None, runs_left=9).text
    assert said == "nothing is written: full; what is read waits in /run/x"
    said = trust.recording(refused="full", tail=None, age_s=None, runs_left=9).text
    assert said.endswith("waits in memory alone")


def test_a_database_that_takes_no_run_is_bad_though_the_disk_has_room():
    found = trust.recording(refused="", tail=None, age_s=None, runs_left=90, unkept="is locked")
    assert (found.level, found.text) == (TrustLevel.BAD, "no run could be kept now: is locked")


@pytest.mark.parametrize("level", [WELL, DOUBTFUL, BAD])
def test_records_that_are_not_signed_are_doubtful_at_best_with_the_reason(level):
    kept = TrustPart(name="recording", level=level, text="so")
    assert trust.signed(kept, "") == kept
    found = trust.signed(kept, "no key")
    assert (found.level, found.text) == ((DOUBTFUL, "no key") if level is WELL else (level, "so"))


@pytest.mark.parametrize(
    ("synchronised", "battery", "wrong"),
    [*product((None, False, True), (None, False, True), ("", "the calendar is wrong"))],
)
def test_a_clock_is_well_only_where_it_is_synchronised_and_nothing_contradicts_it(
    synchronised, battery, wrong
):
    found = trust.clock(synchronised=synchronised, battery=battery, wrong=wrong)
    if wrong or (synchronised is False and not battery):
        assert found.level is BAD
    else:
        assert found.level is (WELL if synchronised else DOUBTFUL)
    assert found.level is WELL or "watch" in found.text or "set the clock" in found.text


@pytest.mark.parametrize(("load", "balance"), [*product((False, True), repeat=2)])
def test_a_load_that_does_not_answer_is_bad_and_a_balance_doubtful(load, balance):
    found = trust.instruments([("load", load, "no load"), ("balance", balance, "no balance")])
    assert found.level is (BAD if not load else WELL if balance else DOUBTFUL)
    assert ("no load" in found.text, "no balance" in found.text) == (not load, not balance)


def test_a_bench_without_instruments_is_bad():
    assert trust.instruments([]).level is BAD


@pytest.mark.parametrize(
    ("age_s", "level"),
    [
        (None, DOUBTFUL),
        (-1.0, DOUBTFUL),
        (0.0, WELL),
        (7 * DAY_S, WELL),
        (7 * DAY_S + 1, DOUBTFUL),
        (31 * DAY_S, DOUBTFUL),
        (31 * DAY_S + 1, BAD),
    ],
)
def test_a_copy_is_doubtful_after_a_week_and_bad_after_a_month(age_s, level):
    found = trust.backup(age_s)
    assert found.level is level
    assert level is WELL or "ramphold backup" in found.text or "clock" in found.text


@pytest.mark.parametrize(
    ("up", "waiting", "parked", "receipt_s", "waits_s"),
    [*product((None, False, True), (0, 3), (0, 2), AGES_S, (0.0, 3600.0, 3601.0, DAY_S + 1))],
)
def test_a_server_is_well_where_it_is_connected_and_answers_or_none_is_named(
    up, waiting, parked, receipt_s, waits_s
):
    found = trust.server(
        up=up, trouble="", waiting=waiting, parked=parked, receipt_s=receipt_s, waits_s=waits_s
    )
    known = [waits_s] if receipt_s is None else [receipt_s, waits_s]
    late_s = min(known) if waiting else 0.0
    if up is None:
        assert found.level is WELL
    elif parked:
        assert found.level is DOUBTFUL
    elif late_s > 3600:
        assert found.level is (BAD if late_s > DAY_S else DOUBTFUL)
    else:
        assert found.level is (WELL if up else DOUBTFUL)


DAYS = (None, -1, 0, 29, 30, 365)


@pytest.mark.parametrize(
    ("load", "balance", "has_balance", "future", "troubles"),
    [*product(DAYS, DAYS, (False, True), ("", "C-2027"), ((), ("c.toml is none",)))],
)
def test_certificates_are_well_only_where_all_are_in_force_for_a_month(
    load, balance, has_balance, future, troubles
):
    found = trust.certificates(
        load=load, balance=balance, has_balance=has_balance, future=future, troubles=troubles
    )
    soon = any(one is not None and one < 30 for one in (load, balance))
    if load is None or load < 0 or future:
        assert found.level is BAD
    elif troubles or soon or (has_balance and balance is None):
        assert found.level is DOUBTFUL
    else:
        assert found.level is WELL
    assert found.level is not BAD or "calibrate" in found.text or "clock" in found.text


@pytest.mark.parametrize(
    ("age_s", "words"),
    [(0.4, "0 s"), (119, "119 s"), (120, "2 min"), (7200, "2 h"), (2 * DAY_S, "2 days")],
)
def test_an_age_is_in_the_unit_that_fits_it(age_s, words):
    assert trust.age_words(age_s) == words
