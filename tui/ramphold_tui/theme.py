"""The colours: few and quiet, since every meaning is also in words or marks."""

from textual.theme import BUILTIN_THEMES, Theme

FULL = Theme(
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
#: The terminal's own colours; also used without any colour.
SIXTEEN = Theme(
    name="ramphold-16",
    ansi=True,
    dark=True,
    primary="ansi_cyan",
    secondary="ansi_white",
    accent="ansi_bright_yellow",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    warning="ansi_yellow",
    error="ansi_bright_red",
    success="ansi_cyan",
    variables=BUILTIN_THEMES["ansi-dark"].variables,
)


def theme_for(color_system: str | None) -> Theme:
    """The theme for a terminal's colours, as Rich names them."""
    return FULL if color_system in ("truecolor", "256") else SIXTEEN
