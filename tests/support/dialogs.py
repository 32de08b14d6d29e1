"""The dialog that the screen shows."""

from ramphold_tui.screens import Dialog


def asks(app, title):
    """Whether a dialog is open whose title begins like this."""
    found = app.screen.query(".title") if isinstance(app.screen, Dialog) else ()
    return bool(found) and str(found.first().content).startswith(title)
