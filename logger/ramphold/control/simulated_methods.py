"""What a hand does on a simulated bench; a real one refuses all of it."""

from enum import StrEnum
from typing import Annotated

from ramphold.control.act import AtLeast0, Method, Number, Params, Result, Text, doc
from ramphold.control.run_methods import PUMP
from ramphold.sample import CRUSH, Load


class OnBalance(StrEnum):
    """What is done at the simulated balance.

    `put` puts on it what a place asks for: a poured charge, a pan empty or with its fines, what a
    sieve holds; `more` and `less` add and take away a pinch of 10 mg; `clear` empties it.
    """

    PUT = "put"
    MORE = "more"
    LESS = "less"
    CLEAR = "clear"


class LoadBalanceParams(Params, frozen=True, kw_only=True):
    """What to do; for `put` also the place that asks, as `weigh` names it."""

    act: OnBalance
    test: Annotated[Text, doc("The test it belongs to, such as 'sieve analysis'.")] = CRUSH
    item: Annotated[Text, doc("Which part: number of a sieve, pan, charge, fill.")] = "charge"
    load: Load = Load.NET
    specimen: Annotated[Number | None, doc("Number of the specimen.")] = None
    target_g: Annotated[AtLeast0 | None, doc("What a charge should weigh, in g.")] = None


class Loaded(Result, frozen=True, kw_only=True):
    """What is on the simulated balance now."""

    mass_g: float


class SandQuality(StrEnum):
    """How much an invented sand bears."""

    WEAK = "weak"
    FAIR = "fair"
    STRONG = "strong"


class ChooseSandParams(Params, frozen=True, kw_only=True):
    """The sand that the next cells hold."""

    quality: SandQuality


class SandChosen(Result, frozen=True, kw_only=True):
    """The sand of the next cells, and the stress in psi that crushes a tenth of it."""

    quality: SandQuality
    ten_pct_psi: float


LOAD_BALANCE = Method(
    "load_balance", LoadBalanceParams, Loaded, "load the simulated balance; a real one refuses"
)
CHOOSE_SAND = Method(
    "choose_sand", ChooseSandParams, SandChosen, "choose the simulated sand; a real bench refuses"
)

SIMULATED_METHODS = (PUMP, LOAD_BALANCE, CHOOSE_SAND)
