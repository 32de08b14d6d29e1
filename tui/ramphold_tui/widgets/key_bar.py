"""The keys of a place in the lowest row; each can be touched."""

from typing import ClassVar

from textual import events

from ramphold_tui.view.key_line import KeyItem, key_line
from ramphold_tui.view.keys import EVERYWHERE, KEYS, OUTSIDE_TEXT
from ramphold_tui.widgets.drawn import Drawn


class KeyBar(Drawn):
    """As many keys as there is room for.

    Args:
        place: whose keys, as the table of keys calls it.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"key-bar--key"}

    def __init__(self, place: str) -> None:
        super().__init__()
        self._place = place

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The keys and their words."""
        if row:
            return []
        pieces, end = [], 0
        for item in self._items(width):
            name = " " * (item.start - end) + item.name
            pieces += [(name, "key-bar--key"), (f" {item.label}", "")]
            end = item.end
        return pieces

    async def on_click(self, event: events.Click) -> None:
        """Act as the touched key."""
        at = event.x - self.styles.padding.left
        for item in self._items(self.size.width):
            if item.start <= at < item.end:
                await self.run_action(item.action)

    def _items(self, width: int) -> tuple[KeyItem, ...]:
        """The keys that do something now."""
        owners = {self._place: self.screen, EVERYWHERE: self.app, OUTSIDE_TEXT: self.app}
        dead = frozenset(
            key.action
            for key in KEYS
            if (owner := owners.get(key.place)) is not None
            and owner.check_action(key.action.partition("(")[0], ()) is False
        )
        return key_line(self._place, width, dead)
