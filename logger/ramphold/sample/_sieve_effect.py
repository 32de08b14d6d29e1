"""What the sieves of the cut and after the crush do to the fines of a sample."""

import math
from collections.abc import Iterable, Mapping, Sequence

from ramphold.method.sieve_openings import Opening, SievePair, grading_pct_mm, known_opening
from ramphold.method.sieves import Size
from ramphold.method.uncertainty import Component
from ramphold.sample._bench_state import Blank
from ramphold.sample._sample_records import SieveChosen
from ramphold.sample._specimen_record import SpecimenRecord


def blanks(sample: int | None, size: str, specimens: Iterable[SpecimenRecord]) -> tuple[Blank, ...]:
    """The blanks of a sample whose masses are weighed and that nobody left out."""
    return tuple(
        Blank(
            sample=sample or 0,
            specimen=one.number,
            size=size,
            cut=one.cut_sieve.serial if one.cut_sieve else "",
            after=one.crush_sieve.serial if one.crush_sieve else "",
            fines_pct=one.fines_pct,
        )
        for one in specimens
        if one.is_blank and one.exclusion is None and one.fines_pct is not None
    )


def blanks_for(
    one: SpecimenRecord, sample: int | None, size: str, known: Sequence[Blank]
) -> tuple[Blank, ...]:
    """The blanks that hold for a specimen: those of its sample, or the newest of its two sieves.

    Only blanks through the same two sieves hold. Where nobody recorded which sieves were used,
    those of the same sample do.
    """
    cut, after = (used.serial if used else "" for used in (one.cut_sieve, one.crush_sieve))
    same = [b for b in known if (b.cut, b.after, b.size) == (cut, after, size)]
    own = tuple(b for b in same if b.sample == sample)
    return own or (tuple(same[-1:]) if cut and after else ())


def sieve_pair(
    size: Size,
    masses_g: Mapping[int, float],
    specimens: Iterable[SpecimenRecord],
    blanks_by_specimen: Mapping[int, Sequence[Blank]],
    fines_pct: float,
) -> SievePair | None:
    """The pair of sieves of some specimens; None without any.

    Specimens on different pairs of sieves count as if all were on the one that says least.

    Args:
        size: of the sample.
        masses_g: its sieve analysis, net mass in g by sieve number.
        specimens: those that it may be.
        blanks_by_specimen: the blanks that hold for each, by its number.
        fines_pct: the fines in % at which pairs are compared.
    """
    grading = grading_pct_mm(size, masses_g)
    pairs = (
        SievePair(
            cut=_opening(size, one.cut_sieve),
            after=_opening(size, one.crush_sieve),
            grading_pct_mm=grading,
            blanks_pct=tuple(blank.fines_pct for blank in blanks_by_specimen.get(one.number, ())),
        )
        for one in specimens
    )
    return max(
        dict.fromkeys(pairs), key=lambda pair: combined(pair.components(fines_pct)), default=None
    )


def combined(parts: Iterable[Component]) -> float:
    """The standard uncertainty of several sources together."""
    return math.hypot(*(part.contribution for part in parts))


def _opening(size: Size, chosen: SieveChosen | None) -> Opening:
    return known_opening(size.fine) if chosen is None else opening_of(chosen)


def opening_of(chosen: SieveChosen) -> Opening:
    """The opening of a sieve that was chosen, as far as it was measured by then."""
    return known_opening(chosen.sieve, chosen.serial, chosen.opening_mm, chosen.opening_u_mm)
