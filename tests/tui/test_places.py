import pytest

from ramphold.sample import CRUSH, CYLINDER, DENSITY, PREPARATION, SIEVING, Load, Place
from ramphold_tui.view import weighing_words
from ramphold_tui.view.glyphs import big


@pytest.mark.parametrize(
    ("place", "words", "big_words"),
    [
        (Place(test=SIEVING, item="20", load=Load.TARE), "sieve No. 20, empty", "NO.20 EMPTY"),
        (Place(test=SIEVING, item="20", load=Load.GROSS), "sieve No. 20, full", "NO.20 FULL"),
        (Place(test=SIEVING, item="20"), "what sieve No. 20 holds", "NO.20"),
        (Place(test=SIEVING, item="pan", load=Load.GROSS), "the pan, full", "PAN FULL"),
        (Place(test=SIEVING, item="charge"), "the charge of the stack", "CHARGE"),
        (Place(test=DENSITY, item="fill", load=Load.TARE), "the density cylinder, empty",
         "CYL. EMPTY"),
        (Place(test=CYLINDER, item="C1", load=Load.GROSS), "cylinder C1, full", "CYL. FULL"),
        (Place(test=CRUSH, item="charge", specimen=3), "the charge", "CHARGE"),
        (Place(test=CRUSH, item="pan", load=Load.TARE, specimen=3), "the empty pan", "PAN EMPTY"),
        (Place(test=CRUSH, item="retained", specimen=3), "what the sieve retained", "RETAINED"),
        (Place(test="moisture", item="before"), "proppant as received", "BEFORE"),
        (Place(test="moisture", item="after", load=Load.TARE), "dry proppant: its vessel, empty",
         "AFTER EMPTY"),
        (Place(test=PREPARATION, item="dried"), "the dried portion", "DRIED"),
    ],
)  # fmt: skip
def test_what_lies_on_the_balance_is_said_in_words_and_in_few_letters(place, words, big_words):
    assert weighing_words.words(place) == words
    assert weighing_words.big_words(place) == big_words


def test_the_letters_of_every_sieve_fit_80_columns():
    for item in ("100", "140", "200"):
        shown = big(weighing_words.big_words(Place(test=SIEVING, item=item, load=Load.TARE)), "#")
        assert len(shown[0]) <= 78
