"""What the screen asks at the moment."""

from ramphold_tui.screens import Dialog


def asks(app, title):
    """Whether a dialog is in sight whose title begins so."""
    found = app.screen.query(".title") if isinstance(app.screen, Dialog) else ()
    return bool(found) and str(found.first().content).startswith(title)
