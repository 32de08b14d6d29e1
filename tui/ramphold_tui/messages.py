"""The messages inside the application."""

from textual.message import Message


class ScreenShown(Message):
    """A screen came into sight and wants to be shown what is known."""
