"""The last thing before the terminal: no text on the screen holds what a terminal would obey."""

from collections.abc import Sequence

from rich.cells import cell_len
from rich.segment import Segment
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter

from ramphold.plain_text import hidden

_MARK = "\N{REPLACEMENT CHARACTER}"


class VisibleFilter(LineFilter):
    """Replaces each hidden character by a mark, or leaves it out where it takes no cell."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The segments of a line, as wide as they were."""
        del background
        return [
            one if one.control or not hidden(one.text) else Segment(_plain(one.text), one.style)
            for one in segments
        ]


class PlainApp(App[None], inherit_bindings=False):
    """An application whose every line goes through the filter."""

    # One for all lines: a line that was filtered is kept by its filter, and drawn again from there.
    _visible = VisibleFilter()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """The filters of each line of the screen; ours is the last."""
        return [*super().get_line_filters(), self._visible]


def _plain(text: str) -> str:
    return "".join(one if not hidden(one) else _MARK if cell_len(one) else "" for one in text)
