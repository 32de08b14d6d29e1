"""The colours: few, quiet, and never the only carrier of a meaning."""

from textual.theme import Theme

__all__ = ["THEME"]

THEME = Theme(
    name="ramphold",
    dark=True,
    primary="#9db7c9",
    secondary="#7f8c96",
    accent="#e3c489",
    foreground="#dfe3e6",
    background="#14181b",
    surface="#1b2024",
    panel="#232a2f",
    warning="#e0a05a",
    error="#d96a76",
    success="#9db7c9",
)
