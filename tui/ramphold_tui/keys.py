"""The one table of keys; bindings, key line and help are made from it."""

from dataclasses import dataclass

from textual.binding import Binding

__all__ = ["KEYS", "Key", "bindings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: what is pressed, what it does, its label in the key line, and what help says."""

    key: str
    action: str
    label: str
    about: str


KEYS = (
    Key(
        key="ctrl+q",
        action="quit",
        label="close",
        about="close this screen; run and recording go on without it",
    ),
)


def bindings() -> list[Binding]:
    """The table as Textual takes it; all live in every place, text fields too."""
    return [
        Binding(key.key, key.action, key.label, tooltip=key.about, priority=True) for key in KEYS
    ]
