"""Numbers as instruments print them: padded, zero-filled, with a separate sign, point or comma."""

import re
from decimal import Decimal

#: A number with more significant digits is rubbish.
MOST_DIGITS = 15

_NUMBER = re.compile(rb" *([-+]?) *([0-9]*)(?:[.,]([0-9]*))? *")


def parse_number(text: bytes) -> tuple[int, int] | None:
    """Digits and power of ten of a printed number (`- 012,30` is -1230, -2), or None.

    Trailing zeros are kept: the power of ten gives the resolution.
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        return None
    sign, whole, fraction = match.groups(b"")
    digits = (whole + fraction).lstrip(b"0")
    if not whole + fraction or len(fraction) > MOST_DIGITS or len(digits) > MOST_DIGITS:
        return None
    value = int(digits or b"0")
    return (-value if sign == b"-" else value), -len(fraction)


def scaled(digits: int, exponent: int, size: float = 1.0) -> float:
    """The value `digits` x 10**`exponent` x `size`.

    Computed in decimal, so that 39520 mg are 39.52 g to the last bit.
    """
    if size == 1.0 and -MOST_DIGITS <= exponent <= 0:
        # Division of integers is exact to the last bit too, and faster.
        return digits / int(10**-exponent)
    return float(Decimal(digits).scaleb(exponent) * Decimal(str(size)))
