"""Whatever a record holds, the screen sends the terminal nothing that it would obey."""

from pathlib import Path

from rich.segment import Segment
from rich.style import Style
from textual.color import Color

from ramphold.testing import ManualClock
from ramphold_tui.app import RampholdApp
from ramphold_tui.visible_filter import VisibleFilter

BLACK = Color(0, 0, 0)


def test_hidden_characters_become_marks_or_go_and_the_rest_stays():
    bold = Style(bold=True)
    line = [Segment("26\x1b[2J", bold), Segment("pit \u202e3"), Segment("砂 5 °C", bold)]
    shown = VisibleFilter().apply(line, BLACK)
    assert "".join(one.text for one in shown).isprintable()
    assert [one.style for one in shown] == [bold, None, bold]
    assert shown[2] == line[2]
    assert "[2J" in shown[0].text


def test_it_is_the_last_filter_of_every_line():
    filters = RampholdApp(Path("nowhere"), ManualClock()).get_line_filters()
    assert isinstance(filters[-1], VisibleFilter)


def test_a_line_that_was_filtered_once_is_kept():
    app = RampholdApp(Path("nowhere"), ManualClock())
    assert app.get_line_filters()[-1] is app.get_line_filters()[-1]
