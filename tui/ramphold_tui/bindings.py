"""The table of keys as Textual's bindings."""

from textual.binding import Binding

from ramphold_tui.view.keys import EVERYWHERE, KEYS


def bindings(place: str) -> list[Binding]:
    """The bindings of a place; a letter is taken large too, as the screen names it."""
    return [
        Binding(
            f"{part},{part.upper()}" if len(part) == 1 and part.isalpha() else part,
            key.action if "," not in key.key else f"{key.action}('{part}')",
            key.about,
            priority=place == EVERYWHERE,
        )
        for key in KEYS
        if key.place == place
        for part in key.key.split(",")
    ]
