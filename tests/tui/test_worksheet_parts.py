import pytest

from ramphold.control.sample_methods import SampleLine, SampleSheet
from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    CylinderChosen,
    ExclusionDecided,
    Load,
    RunDecided,
    SampleState,
    ShakingStarted,
    StressPlanned,
    Tick,
    Ticked,
    ValueEntered,
)
from ramphold.testing.samples import SampleBook as Book
from ramphold_tui.view import worksheet_parts
from ramphold_tui.view.corrections import corrections
from ramphold_tui.view.decisions import decisions
from ramphold_tui.view.glyphs import big
from ramphold_tui.view.step_words import LARGE, large_step, step_words


def lines(book, **given):
    record = book.record()
    return worksheet_parts.worksheet_parts(SampleSheet(record=record, next=book.steps(**given)))


def line(book, key):
    return next(one for one in lines(book) if one.key == key)


def test_a_new_sample_shows_its_tests_and_what_is_next_of_each():
    found = lines(Book(tests=(SIEVING, DENSITY, "turbidity", CRUSH)))
    assert [(one.name, step_words(one.step)) for one in found] == [
        ("sieve analysis", "weigh sieve No. 16, empty"),
        ("bulk density", "choose the cylinder"),
        ("turbidity", "enter turbidity"),
        ("crush", "plan the first stress"),
    ]
    assert worksheet_parts.first_to_do(found) == SIEVING


def test_each_stress_has_its_specimens_under_it():
    book = Book(tests=(CRUSH,))
    book.write(StressPlanned, stress_psi=5000.0, replicates=3)
    book.write(StressPlanned, stress_psi=4000.0, replicates=1)
    # 2 g of 40 g are 5 %, 3 g are 7.5 %: by hand.
    book.crushed(1, fines_g=2.0, stress_psi=5000.0)
    book.crushed(2, fines_g=3.0, stress_psi=5000.0)
    found = lines(book)
    assert [(one.depth, one.name, one.found) for one in found] == [
        (0, "crush", "class so far 5K"),
        (1, "4 000 psi", "0 of 1 count"),
        (1, "5 000 psi", "2 of 3 count, mean 6.25 %"),
        (2, "a", "40.000 g  5.00 %  counts"),
        (2, "a", "40.000 g  7.50 %  counts"),
    ]
    assert [step_words(one.step) for one in found if one.step] == [
        "add specimen 1 of 1",
        "add specimen 3 of 3",
    ]


@pytest.mark.parametrize(
    ("write", "found", "to_do", "word"),
    [
        (Book.record, "", "tick off: cut between the primary sieves", "TICK OFF"),
        (lambda book: book.write(Ticked, specimen=1, what=Tick.CUT), "", "weigh the charge",
         "CHARGE"),
        (lambda book: book.run(1, verdict="fail", failed=("hold time",)), "failed",
         "decide: run 1 failed", "DECIDE"),
        (lambda book: book.run(1, verdict=None, state="interrupted"), "interrupted",
         "tick off: cut between the primary sieves", "TICK OFF"),
        (lambda book: book.run(1), "crushed", "shake on the sieve for 10 minutes", "SHAKE"),
    ],
)  # fmt: skip
def test_a_specimen_says_how_far_it_is_and_what_is_next(write, found, to_do, word):
    book = Book(tests=(CRUSH,))
    book.specimen(1)
    write(book)
    one = line(book, "specimen 1")
    assert (one.found, step_words(one.step)) == (found, to_do)
    assert large_step(one.step) == word


def test_a_specimen_that_is_left_out_or_does_not_count_says_so_and_has_no_next_step():
    book = Book(tests=(CRUSH,))
    book.crushed(1)
    book.write(ExclusionDecided, specimen=1, excluded=True, reason="spilt")
    book.crushed(2, verdict="fail")
    book.write(RunDecided, specimen=2, run=2, counts=False, reason="crushed anew")
    ends = {one.key: (one.found[-11:], one.step) for one in lines(book) if one.specimen}
    assert ends == {"specimen 1": ("%  left out", None), "specimen 2": ("not counted", None)}


def test_a_failed_run_that_counts_by_a_decision_is_not_called_failed_any_more():
    book = Book(tests=(CRUSH,))
    book.specimen(1)
    book.run(1, verdict="fail", failed=("hold time",))
    book.write(RunDecided, specimen=1, run=1, counts=True, reason="67 of 120 s, seen")
    assert line(book, "specimen 1").found == "counts, as decided"


def test_a_specimen_that_was_crushed_is_finished_before_anything_else_is_begun():
    book = Book(tests=(SIEVING, CRUSH))
    book.write(StressPlanned, stress_psi=4000.0, replicates=3)
    assert worksheet_parts.first_to_do(lines(book)) == SIEVING
    book.specimen(1)
    book.run(1)
    assert worksheet_parts.first_to_do(lines(book)) == "specimen 1"
    book.weigh(40.0, "charge", specimen=1)
    book.weigh(2.0, "pan", specimen=1)
    assert worksheet_parts.first_to_do(lines(book)) == SIEVING


def test_the_charge_that_is_wanted_stands_there_until_it_is_weighed():
    # 24.7 cm3 of 1.6 g/cm3 are 39.520 g: ISO 13503-2:2006 11.5, from memory.
    book = Book(tests=(DENSITY, CRUSH))
    book.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    book.weigh(160.0, "fill", test=DENSITY)
    book.specimen(1)
    assert line(book, "bulk density").found == "1.600 g/cm3"
    assert line(book, "specimen 1").found == "wanted 39.520 g"


def test_a_whole_sample_is_sent_to_its_review():
    book = Book(tests=("turbidity",))
    book.write(ValueEntered, what="turbidity", value=60.0)
    found = lines(book)
    assert [one.name for one in found] == ["turbidity", "whole sample"]
    assert found[0].found == "60 NTU, within limits"
    assert large_step(found[0].step) == "DONE"
    assert large_step(found[1].step) == "REVIEW"


def test_rows_stand_under_their_header_and_fit_80_columns():
    book = Book(tests=(SIEVING, DENSITY, CRUSH))
    book.write(StressPlanned, stress_psi=12000.0, replicates=3)
    book.crushed(1, stress_psi=12000.0, verdict="fail", fines_g=5.678)
    rows = [worksheet_parts.part_row(one) for one in lines(book)]
    header = worksheet_parts.HEADER[2:]
    assert rows[0].index("weigh sieve") == header.index("next")
    assert rows[4].index("40.000 g") == header.index("found so far")
    for row in (*rows, *map(worksheet_parts.flat_row, lines(book))):
        assert len(row) <= 76
    assert worksheet_parts.flat_row(lines(book)[4]).startswith("a at 12 000 psi ")


def test_a_sample_stands_in_the_list_with_the_first_thing_to_do():
    book = Book(tests=(SIEVING, CRUSH))
    received = SampleLine(sample=book.record().sample, state=SampleState.IN_TEST)
    sheet = SampleSheet(record=book.record(), next=book.steps())
    row = worksheet_parts.sample_row(received, sheet)
    assert row.split("  ")[0] == "26-0417"
    assert row.index("weigh sieve No. 16, empty") == worksheet_parts.SAMPLES_HEADER[2:].index(
        "next"
    )
    assert len(row) <= 76


def test_every_big_word_fits_80_columns():
    for word in (*LARGE.values(), "DONE", "NO SAMPLE", "NOT KEPT"):
        assert len(big(word, "#")[0]) <= 78


def test_what_is_put_right_is_the_newest_mass_that_stands_then_the_ticks():
    book = Book(tests=(CRUSH,))
    book.specimen(1)
    book.write(Ticked, specimen=1, what=Tick.CUT)
    wrong = book.weigh(35.0, "charge", specimen=1)
    book.weigh(39.5, "charge", specimen=1, corrects=wrong.record, reason="spilt")
    book.weigh(112.4, "pan", Load.TARE, specimen=1)
    found = corrections(book.record(), line(book, "specimen 1"))
    assert [one.text for one in found] == [
        "the empty pan: 112.400 g, by KL",
        "the charge: 39.500 g, by KL",
        "not done after all: cut between the primary sieves",
    ]
    assert corrections(book.record(), line(book, CRUSH)) == ()


def test_masses_of_a_test_are_put_right_with_the_test():
    book = Book(tests=(SIEVING, CRUSH))
    book.weigh(401.0, "16", Load.TARE, test=SIEVING)
    book.crushed(1)
    found = corrections(book.record(), line(book, SIEVING))
    assert [one.text for one in found] == ["sieve No. 16, empty: 401.000 g, by KL"]


def test_decisions_are_about_the_judged_run_and_the_specimen():
    book = Book(tests=(CRUSH,))
    book.crushed(1, verdict="fail", failed=("hold time", "ramp rate"))
    texts = [one.text for one in decisions(line(book, "specimen 1"))]
    assert texts == [
        "run 1 does not count",
        "run 1 counts although it failed: hold time, ramp rate",
        "leave a out of the result",
    ]
    book.write(ExclusionDecided, specimen=1, excluded=True, reason="spilt")
    assert decisions(line(book, "specimen 1"))[-1].text == "take a into the result again"
    assert decisions(line(book, CRUSH)) == ()


def test_the_next_specimen_is_proposed_from_those_before():
    book = Book(tests=(CRUSH,))
    assert worksheet_parts.proposed_specimen(book.record(), None) == {}
    book.write(StressPlanned, stress_psi=4500.0, replicates=3)
    book.specimen(1, stress_psi=4500.0)
    assert worksheet_parts.proposed_specimen(book.record(), 4500.0) == {
        "label": "4.5K-2",
        "target": "4500psi",
        "bore": "2in",
        "cell": "",
    }


def test_a_sieving_says_how_much_is_in_size_or_how_many_sieves_are_weighed():
    # Masses of 100 g: 20 to 40 hold 95.6 of them, by hand.
    book = Book(tests=(SIEVING,), sieves_net=True)
    held = {"16": 0.0, "20": 3.2, "25": 25.6, "30": 35.0, "35": 24.0, "40": 11.0}
    held |= {"50": 1.1, "pan": 0.1}
    book.weigh(100.0, "charge", test=SIEVING)
    book.write(ShakingStarted, planned_s=600)
    book.weigh(0.0, "16", test=SIEVING)
    assert line(book, SIEVING).found == "1 of 8 weighed"
    for item in list(held)[1:]:
        book.weigh(held[item], item, test=SIEVING)
    assert line(book, SIEVING).found == "95.6 % in size, conforms"
