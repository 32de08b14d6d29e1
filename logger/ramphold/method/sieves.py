"""Sieves by US number, and the stack for each size of proppant."""

from dataclasses import dataclass

from ramphold.errors import InputError

#: The number of the pan under the stack.
PAN = 0

#: Nominal opening in mm by US number: ASTM E11 Table 1.
OPENINGS_MM = {
    4: 4.75,
    5: 4.00,
    6: 3.35,
    7: 2.80,
    8: 2.36,
    10: 2.00,
    12: 1.70,
    14: 1.40,
    16: 1.18,
    18: 1.00,
    20: 0.850,
    25: 0.710,
    30: 0.600,
    35: 0.500,
    40: 0.425,
    45: 0.355,
    50: 0.300,
    60: 0.250,
    70: 0.212,
    80: 0.180,
    100: 0.150,
    120: 0.125,
    140: 0.106,
    170: 0.090,
    200: 0.075,
    230: 0.063,
    270: 0.053,
    325: 0.045,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A size of proppant.

    Attributes:
        coarse: number of the sieve that all of it should pass.
        fine: number of the sieve that should retain all of it.
        stack: numbers of the sieves for its analysis, coarsest first, without the pan.
    """

    coarse: int
    fine: int
    stack: tuple[int, ...]

    @property
    def name(self) -> str:
        """Its name, such as `20/40`."""
        return f"{self.coarse}/{self.fine}"


# From memory: ISO 13503-2:2006 Table 1, API STD 19C.
_STACKS = {
    (6, 12): (4, 6, 8, 10, 12, 14, 16),
    (8, 16): (6, 8, 10, 12, 14, 16, 20),
    (12, 18): (8, 12, 14, 16, 18, 20, 30),
    (12, 20): (8, 12, 14, 16, 18, 20, 30),
    (16, 20): (12, 16, 18, 20, 25, 30, 40),
    (16, 30): (12, 16, 18, 20, 25, 30, 40),
    (20, 40): (16, 20, 25, 30, 35, 40, 50),
    (30, 50): (20, 30, 35, 40, 45, 50, 70),
    (40, 60): (30, 40, 45, 50, 60, 70, 100),
    (40, 70): (30, 40, 45, 50, 60, 70, 100),
    (70, 140): (50, 70, 80, 100, 120, 140, 200),
}

_MOST_IN_PAIR = 5

#: Every size of the standard by its name.
SIZES = {
    size.name: size
    for size in (
        Size(coarse=coarse, fine=fine, stack=stack) for (coarse, fine), stack in _STACKS.items()
    )
}


def find_size(name: str) -> Size:
    """The size of that name: one of the standard, or any pair of sieves, the coarser one first.

    A pair that the standard does not name has a stack by our rule, which gives the standard's own
    for 8/16, 16/30, 20/40, 30/50, 40/70 and 70/140: the sieve two above the pair, the pair with
    what lies between, and the sieve two below it. Of more than five, every second one is left out.

    Raises:
        InputError: no size has that name.
    """
    known = SIZES.get(name.strip())
    if known is not None:
        return known
    coarse, _, fine = name.strip().partition("/")
    numbers = list(OPENINGS_MM)
    texts = list(map(str, numbers))
    if (
        coarse in texts
        and fine in texts
        and (first := texts.index(coarse)) < (last := texts.index(fine))
    ):
        pair = numbers[first : last + 1]
        if len(pair) > _MOST_IN_PAIR:
            pair = [*pair[:-1:2], pair[-1]]
        above, below = numbers[max(first - 2, 0) : first][:1], numbers[last + 1 : last + 3][-1:]
        return Size(coarse=pair[0], fine=pair[-1], stack=(*above, *pair, *below))
    raise InputError(
        f"{name!r} is no size of proppant: expected one of {', '.join(SIZES)}, or another pair of "
        "US sieve numbers, the coarser one first"
    )


def read_sieve(text: str) -> int:
    """The number of a sieve from its text: a US number, or `pan`.

    Raises:
        InputError: there is no such sieve.
    """
    text = text.strip()
    if text.lower() == "pan":
        return PAN
    for number in OPENINGS_MM:
        if text == str(number):
            return number
    raise InputError(f"{text!r} is no sieve: expected a US number such as 40, or pan")


def opening_mm(sieve: int) -> float:
    """Nominal opening of a sieve in mm; 0 for the pan.

    Raises:
        InputError: there is no sieve of that number.
    """
    if sieve == PAN:
        return 0.0
    try:
        return OPENINGS_MM[sieve]
    except KeyError:
        raise InputError(f"there is no sieve No. {sieve}: expected a US number") from None
