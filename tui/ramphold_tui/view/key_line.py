"""Which keys the line at the bottom has room for."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from ramphold_tui.view.keys import EVERYWHERE, KEYS, OUTSIDE_TEXT, Key

# The first to be left out, and those that a run may need at once.
_FIRST_TO_GO = "ctrl+q"
_ALWAYS = ("f1", "f4", "f9")


class KeyItem(Struct, frozen=True, kw_only=True):
    """A key in the line: its words, its column, and its action as Textual calls it."""

    name: str
    label: str
    action: str
    start: int = 0

    @property
    def end(self) -> int:
        """The column after it."""
        return self.start + len(self.name) + 1 + len(self.label)


def key_line(place: str, width: int, dead: frozenset[str] = frozenset()) -> tuple[KeyItem, ...]:
    """The keys of a place and those that are live everywhere, as many as there is room for.

    Args:
        place: as the table of keys calls it.
        width: of the line in columns.
        dead: actions that do nothing now: their keys are not named.

    To save room the letters share one word, then keys of everywhere are left out, then the last
    keys of the place. F1, which shows all keys, and those that a run may need at once stay.
    """
    items: tuple[KeyItem, ...] = ()
    for keys in _choices(place, dead):
        for gap in (2, 1):
            items = _placed(keys, gap)
            if items[-1].end <= width:
                return items
    return items


def _choices(place: str, dead: frozenset[str]) -> Iterator[Sequence[KeyItem]]:
    """Possible lines, the fullest first."""
    live = [key for key in KEYS if key.label and key.action not in dead]
    # Who is at the press needs no key that leads there.
    there = f"go('{place.rsplit(maxsplit=1)[-1]}')"
    everywhere = [key for key in live if key.place == EVERYWHERE and key.action != there]
    letters = [_item(key) for key in live if key.place == OUTSIDE_TEXT]
    here = [_item(key) for key in live if key.place == place]
    name = " ".join(item.name for item in letters)
    together = [KeyItem(name=name, label="places", action="app.help")] if letters else []
    yield [*here, *map(_item, everywhere), *letters]
    everywhere = [key for key in everywhere if key.key != _FIRST_TO_GO]
    yield [*here, *map(_item, everywhere), *letters]
    yield [*here, *map(_item, everywhere), *together]
    while spare := [key for key in everywhere if key.key not in _ALWAYS]:
        everywhere.remove(spare[-1])
        yield [*here, *map(_item, everywhere), *together]
    while here:
        here.pop()
        yield [*here, *map(_item, everywhere), *together]


def _item(key: Key) -> KeyItem:
    owner = "app" if key.place in {EVERYWHERE, OUTSIDE_TEXT} else "screen"
    return KeyItem(name=key.name, label=key.label, action=f"{owner}.{key.action}")


def _placed(items: Sequence[KeyItem], gap: int) -> tuple[KeyItem, ...]:
    placed: list[KeyItem] = []
    for item in items:
        start = placed[-1].end + gap if placed else 0
        placed.append(KeyItem(name=item.name, label=item.label, action=item.action, start=start))
    return tuple(placed)
