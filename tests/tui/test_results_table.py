"""What the results place says of a sample."""

import pytest

from ramphold.control.sample_methods import NextStress
from ramphold.sample import ExclusionDecided, RunDecided
from ramphold.testing.samples import SampleBook
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.fines_chart import draw_fines
from ramphold_tui.view.glyphs import ASCII, UNICODE
from ramphold_tui.view.results_table import all_runs_view, results_view

#: Grams of fines out of 40 g: 4 % at 4000 psi, 9 % at 5000, 13 % at 6000.
SERIES = {4000.0: (1.58, 1.6, 1.62), 5000.0: (3.5, 3.6, 3.7), 6000.0: (5.1, 5.2, 5.3)}
AHEAD = NextStress(stress_psi=5000.0, specimens=3, reason="why", crush_class="5K", probability=0.87)


@pytest.fixture
def book():
    held, number = SampleBook(), 0
    for stress_psi, fines_g in SERIES.items():
        for one_g in fines_g:
            number += 1
            held.crushed(number, one_g, stress_psi)
    return held


def text(row):
    return "".join(part for part, _ in row)


def words(view):
    return [row.text for row in view.words]


def figure(view, width=80, height=10, marks=UNICODE):
    return [text(row) for row in draw_fines(view.figure, width, height, marks)]


def test_the_class_its_probability_and_what_decides_it_next_are_said(book):
    view = results_view(book.record(), AHEAD)
    assert view.title == "26-0417  20/40 sand  in test  pit 3"
    assert view.crush_class == "5K"
    said = words(view)
    # That of the record itself, as commands and report state it, whatever else was told.
    assert said[0] == f"class so far, probability {book.record().class_probability:.2f}"
    assert said[1] == "next: 3 specimens at 5 000 psi, why"
    # Means of 3.6 g and 5.2 g of 40 g.
    assert said[2] == (
        "rests on 5 000 psi with 9.00 %, within 10 % and 6 000 psi with 13.00 %, over 10 %"
    )


def test_a_class_that_is_decided_asks_for_nothing_more(book):
    decided = NextStress(
        stress_psi=None, specimens=0, reason="5K is sure", crush_class="5K", probability=0.99
    )
    assert "nothing more to crush: 5K is sure" in words(results_view(book.record(), decided))


def test_before_any_specimen_counts_there_is_no_class():
    held = SampleBook()
    held.specimen(1)
    view = results_view(held.record(), None)
    assert (view.crush_class, words(view)) == ("--", ["no class yet: no specimen counts so far"])
    assert view.figure is None
    assert view.rows[0].text.endswith("not crushed yet")
    assert view.rows[0].run is None


def test_an_edition_without_classes_has_its_suggested_stress_and_its_own_limit():
    # API RP 56, 20/40: 4000 psi with 14 % fines at most [from memory, as in `method.limits`].
    held = SampleBook(edition="API RP 56")
    held.crushed(1, 2.0)
    view = results_view(held.record(), None)
    assert view.crush_class == "--"
    assert words(view)[0].endswith("it suggests 4 000 psi, with 14 % fines at most")
    assert view.figure.limit_pct == 14


def test_what_is_thin_about_the_class_is_said_with_a_mark():
    held = SampleBook()
    held.crushed(1, 2.0)
    thin = [row for row in results_view(held.record(), None).words if row.tone is Tone.CAUTION]
    assert thin
    assert all(row.text.startswith("! ") for row in thin)


def test_an_excluded_specimen_is_shown_as_such_with_who_and_why(book):
    book.write(ExclusionDecided, specimen=9, excluded=True, reason="pan knocked over")
    view = results_view(book.record(), None)
    row = view.rows[-1]
    assert row.text.split() == [
        *("x", "a", "6", "000", "13.25", "9", "pass"),
        *["left", "out", "by", "KL:", "pan", "knocked", "over"],
    ]
    assert row.because.startswith("left out by KL: pan knocked over")
    assert [mark for _, mark in view.figure.rows[-1].fines] == ["o", "o", "x"]
    assert view.figure.rows[-1].point.n == 2


def test_a_failed_run_is_undecided_until_a_person_decides():
    held = SampleBook()
    held.crushed(1, 2.0, verdict="fail", failed=("overshoot",))
    row = results_view(held.record(), None).rows[0]
    assert row.text.startswith("? a")
    assert "1 FAIL" in row.text
    assert "run 1 failed its assessment: overshoot" in row.because
    held.write(RunDecided, specimen=1, run=1, counts=True, reason="0.1 % over")
    row = results_view(held.record(), None).rows[0]
    assert row.text.startswith("o a")
    assert "decided by KL: 0.1 % over" in row.because


def test_a_specimen_that_was_loaded_twice_has_a_row_for_each_run():
    held = SampleBook()
    held.specimen(1)
    held.run(1, number=1, state="stopped", verdict="fail")
    held.run(1, number=2)
    rows = results_view(held.record(), None).rows
    assert [row.run for row in rows] == [1, 2]
    assert rows[0].text.endswith("loaded again after it")


def test_the_figure_has_a_mark_for_each_specimen_left_and_right_of_the_limit(book):
    rows = figure(results_view(book.record(), None), width=110)
    header, limit = rows[0], rows[0].index("10 %")
    assert header.split()[:4] == ["psi", "n", "mean", "sd"]
    for psi, row in zip(SERIES, (rows[1], rows[3], rows[5]), strict=True):
        assert row.split()[:2] == [f"{psi / 1000:.0f}", "000"]
        marks = [at for at, letter in enumerate(row) if letter == "o"]
        counted = len(marks) + sum(int(row[at]) for at in range(30, len(row)) if row[at].isdigit())
        assert counted == 3
        assert all((at > limit) is (psi > 5000) for at in marks)
    # Mean and spread as `statistics.stdev` has them of 12.75, 13 and 13.25.
    assert rows[5].split()[2:6] == ["3", "13.00", "0.25", "OVER"]
    assert "┼" in rows[6]


def test_a_low_figure_has_one_row_a_stress_and_says_what_it_leaves_out(book):
    view = results_view(book.record(), None)
    assert len(figure(view, height=4)) == 4
    assert "OVER" in figure(view, height=4)[3]
    low = figure(view, height=3)
    assert low[1].strip() == "2 lower ones not shown"
    assert "OVER" in low[2]


@pytest.mark.parametrize("width", [60, 78, 118])
def test_every_row_of_the_figure_keeps_its_width(book, width):
    view = results_view(book.record(), None)
    for row in draw_fines(view.figure, width, 8, ASCII):
        assert len(text(row)) <= width
        assert text(row).isascii()


def test_a_spread_that_is_not_known_is_not_drawn_as_none():
    held = SampleBook()
    held.crushed(1, 2.0)
    assert figure(results_view(held.record(), None))[1].split()[:5] == [
        *("4", "000", "1", "5.00", "--"),
    ]


def test_fines_of_nothing_and_of_all_stay_in_the_figure():
    held = SampleBook()
    held.crushed(1, 0.0)
    held.crushed(2, 40.0)
    rows = figure(results_view(held.record(), None))
    assert "o" in rows[1]
    assert rows[1].rstrip().endswith("o")


def test_all_runs_of_the_bench_can_be_looked_through(bench):
    bench.feed_until(245)
    view = all_runs_view([bench.record()])
    assert view.rows[0].run == 7
    assert view.rows[0].text.split()[:6] == ["no.", "3", "4", "000", "7", "complete"]
    assert all_runs_view([]).rows == ()
