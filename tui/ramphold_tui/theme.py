"""The colours: few and quiet, since every meaning is also in words or marks."""

from textual.theme import BUILTIN_THEMES, Theme

DARK = Theme(
    name="ramphold-dark",
    dark=True,
    primary="#9db7c9",
    secondary="#8a97a1",
    accent="#e3c489",
    foreground="#dfe3e6",
    background="#14181b",
    surface="#1b2024",
    panel="#232a2f",
    warning="#e0a05a",
    error="#e07b86",
    success="#9db7c9",
)
#: For daylight on the screen.
LIGHT = Theme(
    name="ramphold-light",
    dark=False,
    primary="#2c5671",
    secondary="#55606a",
    accent="#6b4e00",
    foreground="#14181b",
    background="#fbfaf7",
    surface="#f2f0ea",
    panel="#e6e3db",
    warning="#8a4300",
    error="#9b1c2b",
    success="#2c5671",
)
#: For weak eyes and glare.
CONTRAST = Theme(
    name="ramphold-contrast",
    dark=True,
    primary="#a8e1ff",
    secondary="#d0d0d0",
    accent="#ffe14d",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#1c1c1c",
    warning="#ffb347",
    error="#ff9d9d",
    success="#a8e1ff",
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
#: What a person may choose, by the word for it.
COLOURS = {"dark": DARK, "light": LIGHT, "high contrast": CONTRAST}


def theme_for(color_system: str | None, colours: str = "dark") -> Theme:
    """The theme for a terminal's colours, as Rich names them, and for a person's choice."""
    if color_system not in ("truecolor", "256"):
        return SIXTEEN
    return COLOURS.get(colours, DARK)
