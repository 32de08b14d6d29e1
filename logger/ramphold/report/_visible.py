"""Text that is safe to print: no invisible character moves or hides the rest."""

import unicodedata

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def visible(text: str) -> str:
    """Text with control and formatting characters shown as code points in angle brackets."""
    if text.isprintable():
        return text
    return "".join(f"‹U+{ord(c):04X}›" if unicodedata.category(c) in _HIDDEN else c for c in text)  # noqa: RUF001 - brackets
