"""Sieves by US number, and the stack for a size of proppant."""

from collections.abc import Mapping, Sequence
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


_MOST_IN_PAIR = 5


def size_of(name: str, stacks: Mapping[str, tuple[int, ...]]) -> Size:
    """The size of that name: one with a stack of its own, or any pair of sieves, coarser first.

    A pair without one has a stack by our rule, which gives the standard's own for 8/16, 16/30,
    20/40, 30/50, 40/70 and 70/140: the sieve two above the pair, the pair with what lies between,
    and the sieve two below it. Of more than five, every second one is left out.

    Args:
        name: such as `20/40`.
        stacks: the stacks of an edition by size.

    Raises:
        InputError: no size has that name.
    """
    name = name.strip()
    numbers = list(OPENINGS_MM)
    coarse, _, fine = name.partition("/")
    texts = list(map(str, numbers))
    if (
        coarse in texts
        and fine in texts
        and (first := texts.index(coarse)) < (last := texts.index(fine))
    ):
        stack = stacks.get(name) or _stack_by_rule(numbers, first, last)
        return Size(coarse=int(coarse), fine=int(fine), stack=stack)
    raise InputError(
        f"{name!r} is no size of proppant: expected one of {', '.join(stacks)}, or another pair of "
        "US sieve numbers, the coarser one first"
    )


def _stack_by_rule(numbers: Sequence[int], first: int, last: int) -> tuple[int, ...]:
    pair = numbers[first : last + 1]
    if len(pair) > _MOST_IN_PAIR:
        pair = [*pair[:-1:2], pair[-1]]
    above, below = numbers[max(first - 2, 0) : first][:1], numbers[last + 1 : last + 3][-1:]
    return (*above, *pair, *below)


def check_stack(name: str, stack: Sequence[int]) -> None:
    """Check that a stack can analyse the size of that name.

    Raises:
        InputError: the name is no size, a sieve is unknown, they do not become finer one by one,
            or one of the two that name the size is missing.
    """
    size = size_of(name, {})
    openings = [opening_mm(sieve) for sieve in stack]
    if any(one == PAN for one in stack) or openings != sorted(set(openings), reverse=True):
        raise InputError(f"the stack for {name}: expected US numbers, the coarsest sieve first")
    if not {size.coarse, size.fine} <= set(stack):
        raise InputError(
            f"the stack for {name}: expected No. {size.coarse} and No. {size.fine} too"
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
