"""A picture of the screen."""

import re

from textual.app import App


def picture(app: App[None]) -> str:
    """The screen as SVG, in fonts of the machine that shows it: nothing is fetched for it."""
    return re.sub(r"@font-face \{.*?\}", "", app.export_screenshot(), flags=re.DOTALL)
