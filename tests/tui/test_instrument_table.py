"""What the instruments place says."""

import msgspec
import pytest

from ramphold.control.instrument_methods import InstrumentNow
from ramphold.method.daily_check import DAILY_CHECKS
from ramphold.sample import (
    BenchRecord,
    DailyCheckMade,
    Equipment,
    EquipmentChecked,
    EquipmentState,
)
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.instrument_table import instruments_view

#: 2026-11-20 12:00 UTC, as `date -u -d @1795176000` has it, in ns.
NOON_NS = 1_795_176_000 * 10**9
DAY_NS = 86_400 * 10**9

LOAD = InstrumentNow(
    name="load",
    place="/dev/load",
    state="open",
    ok=True,
    text="ok",
    raw="12567.3 lbf",
    value=12567.3,
    unit="lbf",
    quality="good",
    rate_per_s=10.02,
    step=0.1,
    reading_unit="lbf",
    noise=0.1816,
    steady_pct=97.2,
    age_s=0.1,
    calibration="C-1, in force until 2027-11-01",
    certificate="C-1",
    days_left=346,
    zero=-12.5,
)
BALANCE = InstrumentNow(
    name="balance",
    place="/dev/balance",
    state="open",
    ok=True,
    text="ok",
    raw="S S     39.518 g",
    value=39.518,
    unit="g",
    quality="stable",
    rate_per_s=None,
    step=0.001,
    reading_unit="g",
    noise=None,
    steady_pct=None,
    age_s=None,
    calibration="no certificate",
)


def check(rule, verdict="good", utc_ns=NOON_NS, off_pct=0.01, anyway=None):
    return DailyCheckMade(
        operator="KL",
        utc_ns=utc_ns,
        rule=rule,
        measured=-12.5,
        expected=0.0,
        base=50_000.0,
        off_pct=off_pct,
        verdict=verdict,
        anyway=anyway,
    )


def facts(*instruments, book=None):
    view = instruments_view(instruments, book or BenchRecord(), NOON_NS)
    return {row.text[:13].strip(): row for row in view.facts}


def test_every_fact_of_every_instrument_is_said():
    rows = facts(LOAD, BALANCE)
    told = {name: row.text[13:].split("  ") for name, row in rows.items()}
    assert {name: (parts[0], parts[-1].strip()) for name, parts in told.items()} == {
        "": ("load", "balance"),
        "health": ("open, well", "open, well"),
        "raw": ("12567.3 lbf", "39.518 g"),
        "value": ("12 567 lbf good", "39.518 g stable"),
        "rate": ("10.0 /s", "--"),
        "noise": ("0.1816 lbf", "--"),
        "at rest": ("97 %", "--"),
        "age": ("0.1 s", "no reading yet"),
        "zero": ("-12.5 lbf, as certified", "--"),
        "certificate": ("C-1", "none"),
        "in force": ("346 days left", "--"),
    }


def test_what_is_wrong_with_one_is_said_with_what_to_do():
    silent = msgspec.structs.replace(
        LOAD, ok=False, state="silent", text="no line for 3 s: look at the cable", value=None
    )
    view = instruments_view((silent, BALANCE), BenchRecord(), NOON_NS)
    assert view.facts[-1].text == "! load: no line for 3 s: look at the cable"
    assert view.facts[-1].tone is Tone.CAUTION
    assert "! SILENT" in view.facts[1].text
    assert view.facts[1].tone is Tone.CAUTION


@pytest.mark.parametrize(
    ("days", "said", "tone"),
    [
        (346, "346 days left", Tone.CALM),
        (29, "! 29 days left", Tone.CAUTION),
        (0, "! 0 days left", Tone.CAUTION),
        (-4, "! PAST DUE for 4 days", Tone.CAUTION),
    ],
)
def test_a_certificate_that_falls_due_is_told_in_time(days, said, tone):
    row = facts(msgspec.structs.replace(LOAD, days_left=days))["in force"]
    assert row.text[13:] == said
    assert row.tone is tone


def test_who_took_the_zero_and_when_is_said_but_not_of_one_that_failed():
    book = BenchRecord(checks=(check("load zero"), check("load zero", "failed", NOON_NS + DAY_NS)))
    assert facts(LOAD, book=book)["zero"].text[13:] == "-12.5 lbf, 2026-11-20 KL"


def test_the_checks_of_the_day_are_done_due_or_failed():
    book = BenchRecord(
        checks=(
            check("load zero", "failed", off_pct=0.2),
            check("load span", utc_ns=NOON_NS - DAY_NS),
        )
    )
    rows = instruments_view((LOAD, BALANCE), book, NOON_NS).checks
    assert [row.text for row in rows] == [
        "load zero    ! FAILED today: +0.200 % off, KL",
        "load span    - due today, last on 2026-11-19",
        "check weight - due today, never made",
    ]
    assert [row.tone for row in rows] == [Tone.CAUTION, Tone.ACT, Tone.ACT]
    good = instruments_view((LOAD,), BenchRecord(checks=(check("load zero"),)), NOON_NS).checks
    assert good[0].text == "load zero    = done today: +0.010 % off, KL"
    # Without a balance there is none to check.
    assert len(good) == 2


def test_a_zero_that_was_taken_over_its_limit_says_why():
    book = BenchRecord(checks=(check("load zero", off_pct=0.0, anyway="a new cable"),))
    row = instruments_view((LOAD,), book, NOON_NS).checks[0]
    assert row.text == "load zero    ! taken over its limit today, KL: a new cable"
    assert row.tone is Tone.CAUTION


def equipment(kind, name, uses, *, days=0, **fields):
    given = {"finding": "as it should be"} | fields
    one = EquipmentChecked(
        operator="KL", utc_ns=NOON_NS - days * DAY_NS, equipment=kind, name=name, **given
    )
    return EquipmentState(check=one, uses=uses)


def test_wear_fills_towards_its_limit_and_what_is_due_comes_first():
    # Limits of ours: 1000 crushes of a cell; 300 sievings or 180 days of a sieve.
    book = BenchRecord(
        equipment=(
            equipment(Equipment.CELL, "A", 500, measured=2.0, nominal=2.0),
            equipment(Equipment.CELL, "B", 3),
            equipment(Equipment.SIEVE, "S7", 30, days=200, sieve=40),
            equipment(Equipment.SIEVE, "S8", 250, days=1, sieve=50),
            equipment(Equipment.SIEVE, "S9", 0, sieve=16, usable=False, finding="torn"),
        )
    )
    wear = instruments_view((LOAD,), book, NOON_NS).wear
    said = [(one.label, one.share, one.text, one.tone) for one in wear]
    due = "DUE: 200 days since the last check: expected 180 or less"
    assert said == [
        ("sieve S7, No. 40", 1.0, due, Tone.CAUTION),
        ("sieve S9, No. 16", 1.0, "out of use: torn", Tone.CAUTION),
        ("sieve S8, No. 50", pytest.approx(250 / 300), "83 % used, 250 uses", Tone.ACT),
        ("cell A", 0.5, "50 % used, 500 uses", Tone.CALM),
        ("cell B", 0.0, "never measured, 3 uses", Tone.CALM),
    ]


def test_what_is_not_known_yet_is_not_made_up():
    view = instruments_view((), None, NOON_NS)
    assert (view.checks, view.wear) == ((), ())


@pytest.mark.parametrize("declared", DAILY_CHECKS, ids=lambda one: one.name)
def test_every_declared_check_is_due_until_it_is_made(declared):
    def row(book):
        rows = instruments_view((LOAD, BALANCE), book, NOON_NS).checks
        (found,) = (one for one in rows if one.text.startswith(declared.name))
        return found

    assert row(BenchRecord()).tone is Tone.ACT
    assert row(BenchRecord(checks=(check(declared.name),))).tone is Tone.CALM
