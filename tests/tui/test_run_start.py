"""What is said before a run begins."""

import pytest

from ramphold.control.run_methods import Live
from ramphold.testing.samples import SampleBook
from ramphold_tui.view.run_start import start_lines


def lines(stress_psi=4000.0, rating_lbf=40_000.0, rating_name="sensor", bore_in=2.0):
    book = SampleBook()
    book.specimen(1, stress_psi, bore_in=bore_in)
    (one,) = book.record().specimens
    live = Live(
        t_ns=0,
        reading_t_ns=None,
        force_lbf=None,
        quality=None,
        run=None,
        snapshot=None,
        rating_lbf=rating_lbf,
        rating_name=rating_name,
    )
    return dict(line.split(maxsplit=1) for line in start_lines(one, live, "KL"))


# On pi square inches: 4000 psi are 12 566 lbf, 12 700 psi are 39 898, 13 000 psi are 40 841.
@pytest.mark.parametrize(
    ("stress_psi", "ceiling", "rating"),
    [
        (4000.0, "12 800 lbf",
         "40 000 lbf of the sensor, 27 200 lbf above the ceiling"),
        (12_700.0, "40 000 lbf",
         "40 000 lbf of the sensor, no margin over the ceiling"),
        (13_000.0, "none: the target is over the rating",
         "40 000 lbf of the sensor, 841 lbf UNDER THE TARGET"),
    ],
)  # fmt: skip
def test_what_the_weakest_part_bears_is_said_with_its_margin(stress_psi, ceiling, rating):
    said = lines(stress_psi)
    assert (said["ceiling"], said["rating"]) == (ceiling, rating)


def test_a_rating_that_is_not_known_is_not_made_up():
    said = lines(rating_lbf=None, rating_name="")
    assert said["ceiling"] == "12 800 lbf, or the rating where that is lower"
    assert said["rating"] == "not known: the daemon does not say it"


def test_the_rest_is_what_was_written_down_of_the_specimen():
    said = lines()
    assert said["target"] == "4 000 psi, 12 566 lbf"
    assert (said["bore"], said["charge"], said["operator"]) == ("2 in", "--", "KL")
    assert said["confirm"] == "cut between the primary sieves, bed level, piston turned: all done?"
    assert said["zero"] == "is read now: there must be no load on the cell"


def test_a_bore_unlike_the_usual_cell_is_said_before_the_run():
    assert "UNUSUAL" not in lines()["bore"]
    assert lines(bore_in=1.5)["bore"] == "1.5 in, UNUSUAL: a cell usually has 2 in"
