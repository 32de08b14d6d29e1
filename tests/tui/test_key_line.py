from itertools import pairwise

import pytest

from ramphold_tui.view import keys
from ramphold_tui.view.key_line import key_line

PLACES = [
    place
    for place in dict.fromkeys(key.place for key in keys.KEYS)
    if place not in {keys.EVERYWHERE, keys.OUTSIDE_TEXT}
]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("width", [78, 98, 118])
def test_the_key_line_fits_with_what_is_needed_in_a_run(place, width):
    items = key_line(place, width)
    assert items[-1].end <= width
    assert all(one.end < other.start for one, other in pairwise(items))
    here = [key.name for key in keys.KEYS if key.place == place and key.label]
    shown = [item.name for item in items]
    assert {"F1", "F4", "F9", *here[:2]} <= set(shown)
    # What is left out of the place is the last of it.
    assert [name for name in shown if name in here] == here[: len(set(shown) & set(here))]


def test_the_letters_stand_together_where_room_is_short_and_lead_to_the_help():
    short, full = key_line(keys.TIMERS, 78), key_line(keys.TIMERS, 200)
    last = short[-1]
    assert (last.name, last.label, last.action) == ("W R I T", "places", "app.help")
    assert [item.name for item in full[-4:]] == ["W", "R", "I", "T"]
    assert "Ctrl Q" in [item.name for item in full]
    assert "Ctrl Q" not in [item.name for item in short]


def test_a_key_that_does_nothing_now_is_not_named():
    dead = frozenset({"own_hand", "pump", "open_valve"})
    assert {"Space", "V"} <= {item.name for item in key_line(keys.PRESS, 78)}
    assert {"H", "Space", "V"}.isdisjoint({i.name for i in key_line(keys.PRESS, 200, dead)})


def test_the_key_that_leads_to_a_place_is_not_named_there():
    assert "F2" not in {item.name for item in key_line(keys.PRESS, 200)}
    assert {"F2", "F3"} & {i.name for i in key_line(keys.BALANCE, 200)} == {"F2"}


def test_without_other_places_no_letters_are_named():
    dead = frozenset(key.action for key in keys.KEYS if key.action.startswith("go("))
    assert "places" not in {item.label for item in key_line(keys.PRESS, 78, dead)}


def test_a_line_without_any_room_keeps_what_a_run_needs():
    assert [item.name for item in key_line(keys.PRESS, 0)] == ["F1", "F4", "F9", "W R I T"]


def test_a_key_acts_on_its_place_or_on_the_whole():
    actions = {item.name: item.action for item in key_line(keys.TIMERS, 200)}
    assert actions["O"] == "screen.end_sieve"
    assert actions["F2"] == "app.go('press')"
