import string

import pytest

from ramphold_tui.view.glyphs import ASCII, CONSOLE, UNICODE, big, marks_for


@pytest.mark.parametrize("text", ["0123456789", string.ascii_uppercase, "- / . ! 12 566"])
def test_every_row_of_a_big_text_is_equally_long(text):
    rows = big(text, "#")
    assert len(rows) == 5
    assert len({len(row) for row in rows}) == 1


def test_digits_are_all_equally_wide_so_that_a_number_does_not_jump():
    assert {len(big(digit, "#")[0]) for digit in "0123456789"} == {6}


def test_no_two_letters_or_digits_look_alike():
    shapes = [big(letter, "#") for letter in string.ascii_uppercase + "1234567890"]
    # O and 0, S and 5 too: a cue beside a number must not be misread.
    assert len(set(shapes)) == len(shapes)


def test_twice_the_scale_is_twice_as_high_and_wide():
    small, large = big("HOLD", "#"), big("HOLD", "#", 2)
    assert len(large) == 2 * len(small)
    assert len(large[0]) == 2 * len(small[0])


@pytest.mark.parametrize("word", ["RELEASE", "NO READING", "INTERRUPTED", "OVER CEILING"])
def test_the_long_words_fit_a_screen_of_80_columns(word):
    assert len(big(word, "#")[0]) <= 78


def test_a_terminal_gets_only_what_its_font_has():
    assert marks_for("xterm-256color", "utf-8") is UNICODE
    assert marks_for("linux", "UTF-8") is CONSOLE
    assert marks_for("xterm", "ascii") is ASCII
    assert marks_for("linux", "ISO-8859-1") is ASCII


def test_the_plain_marks_are_plain():
    assert (ASCII.full + ASCII.track + ASCII.line).isascii()
