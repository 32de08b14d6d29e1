import pytest

from ramphold.sample import CRUSH, CYLINDER, DENSITY, PREPARATION, SIEVING, Load, WeighingPlace
from ramphold_tui.view.glyphs import big
from ramphold_tui.view.step_words import large_place, place_words


def at(**place):
    return WeighingPlace(**place)


@pytest.mark.parametrize(
    ("place", "words", "big_words"),
    [
        (at(test=SIEVING, item="20", load=Load.TARE), "sieve No. 20, empty", "NO.20 EMPTY"),
        (at(test=SIEVING, item="20", load=Load.GROSS), "sieve No. 20, full", "NO.20 FULL"),
        (at(test=SIEVING, item="20"), "what sieve No. 20 holds", "NO.20"),
        (at(test=SIEVING, item="pan", load=Load.GROSS), "the pan, full", "PAN FULL"),
        (at(test=SIEVING, item="charge"), "the charge of the stack", "CHARGE"),
        (at(test=DENSITY, item="fill", load=Load.TARE), "the density cylinder, empty",
         "CYL. EMPTY"),
        (at(test=CYLINDER, item="C1", load=Load.GROSS), "cylinder C1, full", "CYL. FULL"),
        (at(test=CRUSH, item="charge", specimen=3), "the charge", "CHARGE"),
        (at(test=CRUSH, item="pan", load=Load.TARE, specimen=3), "the empty pan", "PAN EMPTY"),
        (at(test=CRUSH, item="retained", specimen=3), "what the sieve retained", "RETAINED"),
        (at(test="moisture", item="before"), "proppant as received", "BEFORE"),
        (at(test="moisture", item="after", load=Load.TARE), "dry proppant: its vessel, empty",
         "AFTER EMPTY"),
        (at(test=PREPARATION, item="dried"), "the dried portion", "DRIED"),
    ],
)  # fmt: skip
def test_what_lies_on_the_balance_is_said_in_words_and_in_few_letters(place, words, big_words):
    assert place_words(place) == words
    assert large_place(place) == big_words


def test_the_letters_of_every_sieve_fit_80_columns():
    for item in ("100", "140", "200"):
        shown = big(large_place(WeighingPlace(test=SIEVING, item=item, load=Load.TARE)), "#")
        assert len(shown[0]) <= 78
