"""Text as it may be printed: nothing in it that can't be seen moves or hides the rest."""

import unicodedata

__all__ = ["visible"]

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def visible(text: str) -> str:
    """Each character that is control or formatting shown by its number, in angle brackets."""
    if text.isprintable():
        return text
    return "".join(f"‹U+{ord(c):04X}›" if unicodedata.category(c) in _HIDDEN else c for c in text)  # noqa: RUF001 - brackets
