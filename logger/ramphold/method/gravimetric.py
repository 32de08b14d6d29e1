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
    """One test; what is done between its two weighings is in the edition.

    Attributes:
        name: its name in the laboratory.
        before, after: what is weighed.
        of_dry: whether the loss is a share of the mass after, not of the mass before.
    """

    name: str
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


#: Every test by its name.
TESTS = {
    test.name: test
    for test in (
        GravimetricTest(
            name="acid solubility",
            before="dry proppant",
            after="what the filter holds, dried",
        ),
        GravimetricTest(
            name="loss on ignition",
            before="dry proppant",
            after="proppant after the furnace",
        ),
        GravimetricTest(
            name="wash loss",
            before="dry proppant as received",
            after="washed and dried proppant",
        ),
        # As for soils and aggregates, in % of the dry mass: ASTM D2216 and C566, from memory.
        GravimetricTest(
            name="moisture",
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
    found = loss_pct(before_g, after_g, of_after=test.of_dry)
    return Loss(
        test=test.name,
        loss_pct=found,
        limit=limit,
        passes=None if limit is None else limit.passes(found),
    )
