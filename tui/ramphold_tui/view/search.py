"""Finding rows by a few letters of them."""

from collections.abc import Sequence


def found_in(options: Sequence[str], typed: str) -> tuple[int, ...]:
    """The places of the options that have every word that is typed, in any case and order."""
    words = typed.casefold().split()
    return tuple(
        place
        for place, option in enumerate(options)
        if all(word in option.casefold() for word in words)
    )
