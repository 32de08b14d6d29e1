"""The cut between the primary sieves, by its masses: what went on, what was kept and discarded."""

from collections.abc import Iterator
from dataclasses import dataclass

from ramphold.method.limits import over
from ramphold.sample._standing_masses import Masses, net_g
from ramphold.sample._weighing_places import CRUSH, CUT

#: Ours: masses of one cut may contradict each other by this much in g. Weighings on a balance that
#: shows 0.1 g differ by no more.
CUT_REPEATS_G = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A sample's cut in g; None where a mass is not known.

    Attributes:
        sieved_g: what went on the sieves.
        kept_g: what stayed between the primary sieves.
        discarded_g: the rest.
        charges_g: all charges of the sample together, blanks and specimens left out too.
        contradictions: each of these masses that is more than what it came from.
        losses: what the cut lost, where it is more than a sieving may lose.
    """

    sieved_g: float | None
    kept_g: float | None
    discarded_g: float | None
    charges_g: float
    contradictions: tuple[str, ...]
    losses: tuple[str, ...]

    @property
    def left_g(self) -> float | None:
        """What is left of the kept material for further charges; at least 0."""
        return None if self.kept_g is None else max(self.kept_g - self.charges_g, 0.0)


def cut_of(masses: Masses, loss_pct: float) -> Cut:
    """The cut of a sample.

    Args:
        masses: the standing masses of the sample.
        loss_pct: what its edition lets a sieving lose, in %.
    """
    sieved_g, kept_g, discarded_g = (
        net_g(masses, CUT, item) for item in ("sieved", "kept", "discarded")
    )
    charges_g = _charges_g(masses)
    return Cut(
        sieved_g=sieved_g,
        kept_g=kept_g,
        discarded_g=discarded_g,
        charges_g=charges_g,
        contradictions=tuple(_too_much(sieved_g, kept_g, discarded_g, charges_g)),
        losses=tuple(_lost(sieved_g, kept_g, discarded_g, loss_pct)),
    )


def _charges_g(masses: Masses) -> float:
    specimens = {p.specimen for p in masses if (p.test, p.item) == (CRUSH, "charge")}
    charges = (net_g(masses, CRUSH, "charge", specimen) for specimen in specimens)
    return sum(one for one in charges if one is not None)


def _too_much(
    sieved_g: float | None, kept_g: float | None, discarded_g: float | None, charges_g: float
) -> Iterator[str]:
    """Each mass that is more than what it came from."""
    came_off_g = (kept_g or 0.0) + (discarded_g or 0.0)
    if sieved_g is not None and over(came_off_g, sieved_g + CUT_REPEATS_G):
        yield (
            f"{came_off_g:.3f} g came off the sieves of the cut, more than the {sieved_g:.3f} g "
            "that went on them"
        )
    if kept_g is not None and over(charges_g, kept_g + CUT_REPEATS_G):
        yield (
            f"the charges weigh {charges_g:.3f} g in all, more than the {kept_g:.3f} g that the "
            "cut kept"
        )


def _lost(
    sieved_g: float | None, kept_g: float | None, discarded_g: float | None, loss_pct: float
) -> Iterator[str]:
    if not sieved_g or kept_g is None or discarded_g is None:
        return
    lost_pct = 100 * (sieved_g - kept_g - discarded_g) / sieved_g
    if over(lost_pct, loss_pct):
        yield f"the cut lost {lost_pct:.2f} %, more than the {loss_pct:g} % that a sieving may lose"
