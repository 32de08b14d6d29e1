"""Tests by mass: a mass before, a mass after, and the difference in per cent."""

from dataclasses import dataclass
from enum import StrEnum

from ramphold.method.limits import ResultLimit
from ramphold.method.sieving import loss_pct


class Material(StrEnum):
    """What a proppant is made of."""

    SAND = "sand"
    RESIN_COATED = "resin-coated"
    CERAMIC = "ceramic"


@dataclass(frozen=True, slots=True, kw_only=True)
class GravimetricTest:
    """One test.

    Attributes:
        name: its name in the laboratory.
        steps: the procedure between the two weighings.
        before, after: what is weighed.
        of_dry: whether the loss is a share of the mass after, not of the mass before.
    """

    name: str
    steps: str
    before: str
    after: str
    of_dry: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """The result of a test; `passes` is None if the test has no limit."""

    test: str
    loss_pct: float
    limit: ResultLimit | None
    passes: bool | None


#: Every test by its name. The methods are from memory: ISO 13503-2:2006 clauses 8 and 12.
TESTS = {
    test.name: test
    for test in (
        GravimetricTest(
            name="acid solubility",
            steps="5 g in 100 ml of HCl and HF, 12 to 3, at 66 C for 30 min; filtered and dried",
            before="dry proppant",
            after="what the filter holds, dried",
        ),
        GravimetricTest(
            name="loss on ignition",
            steps="2 h at 927 C, cooled dry",
            before="dry proppant",
            after="proppant after the furnace",
        ),
        # Common practice, no source.
        GravimetricTest(
            name="wash loss",
            steps="washed until the water runs clear, dried",
            before="dry proppant as received",
            after="washed and dried proppant",
        ),
        # As for soils and aggregates, in % of the dry mass: ASTM D2216 and C566, from memory.
        GravimetricTest(
            name="moisture",
            steps="dried at 105 C until the mass stays",
            before="proppant as received",
            after="dry proppant",
            of_dry=True,
        ),
    )
}


def measure(
    test: GravimetricTest, before_g: float, after_g: float, limit: ResultLimit | None = None
) -> Loss:
    """The loss between two net masses in g, compared with its limit in % where it has one.

    A gain is a negative loss and passes; a reader sees that something is wrong.

    Raises:
        InputError: a mass is not finite, or the mass that the loss is a share of is not above
            zero.
    """
    found = -loss_pct(after_g, before_g) if test.of_dry else loss_pct(before_g, after_g)
    return Loss(
        test=test.name,
        loss_pct=found,
        limit=limit,
        passes=None if limit is None else limit.passes(found),
    )
