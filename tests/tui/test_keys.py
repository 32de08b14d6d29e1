import inspect

import pytest

from ramphold_tui.app import RampholdApp
from ramphold_tui.bindings import bindings
from ramphold_tui.screens import (
    BalanceScreen,
    InstrumentsScreen,
    PressScreen,
    ResultsScreen,
    SamplesScreen,
    TimersScreen,
    WorksheetScreen,
)
from ramphold_tui.view import keys

OWNERS = {
    keys.EVERYWHERE: RampholdApp,
    keys.OUTSIDE_TEXT: RampholdApp,
    keys.PRESS: PressScreen,
    keys.BALANCE: BalanceScreen,
    keys.WORKSHEET: WorksheetScreen,
    keys.SAMPLES: SamplesScreen,
    keys.RESULTS: ResultsScreen,
    keys.INSTRUMENTS: InstrumentsScreen,
    keys.TIMERS: TimersScreen,
}
PLACES = [place for place in OWNERS if place not in {keys.EVERYWHERE, keys.OUTSIDE_TEXT}]


@pytest.mark.parametrize("key", keys.KEYS, ids=lambda key: key.name)
def test_every_key_does_something(key):
    name = key.action.split("(")[0]
    method = getattr(OWNERS[key.place], f"action_{name}")
    assert inspect.getdoc(method)


def test_no_key_has_two_meanings():
    # Keys that are live everywhere are so in each place too.
    for place in PLACES:
        live = (keys.EVERYWHERE, keys.OUTSIDE_TEXT, place)
        pressed = [part for key in keys.KEYS if key.place in live for part in key.key.split(",")]
        assert len(set(pressed)) == len(pressed)


@pytest.mark.parametrize("place", [keys.OUTSIDE_TEXT, *PLACES])
def test_a_letter_is_taken_large_as_the_screen_names_it_and_small(place):
    taken = {part for one in bindings(place) for part in one.key.split(",")}
    names = {one.name for one in keys.KEYS if one.place == place}
    letters = {one for one in names if len(one) == 1 and one.isalpha()}
    assert taken >= letters | {one.lower() for one in letters}


def test_keys_that_are_live_in_text_fields_type_nothing():
    for key in keys.KEYS:
        if key.place == keys.EVERYWHERE:
            assert key.key.startswith(("f", "ctrl+"))
            assert key.key != "f"


@pytest.mark.parametrize("here", PLACES)
def test_the_help_has_every_key_those_of_the_place_first(here):
    lines = keys.help_lines(here)
    text = "\n".join(lines)
    for key in keys.KEYS:
        assert key.name in text
        assert key.about in text
    assert max(map(len, lines)) <= 72
    assert all(lines.count(place) == 1 for place in OWNERS)
    assert lines[0] == here
    # What is live here stands on the first page of the smallest screen.
    assert lines.index(keys.OUTSIDE_TEXT) <= 22


def test_ending_the_record_can_not_be_taken_for_stopping_the_press():
    end = next(key for key in keys.KEYS if key.action == "end_record")
    assert end.label == "end record"
    assert "the press goes on" in end.about
    assert end.place == keys.EVERYWHERE
