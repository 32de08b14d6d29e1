"""Fines over stress, the class, and how certain it is."""

from collections.abc import Iterator

from ramphold.method.class_evidence import ClassEvidence
from ramphold.method.crush_class import StressPoint
from ramphold.method.fines_curve import Crossing
from ramphold.method.limits import over
from ramphold.method.outliers import TELLING, agreement, grubbs
from ramphold.method.precision import Spread
from ramphold.method.uncertainty import stated
from ramphold.report._document import (
    Block,
    Bullets,
    Figure,
    Group,
    Paragraph,
    TableRow,
    listed,
    marked,
    table,
)
from ramphold.report._fines_figure import FinesPicture, fines_drawing
from ramphold.report._format import NONE, mpa, number, psi
from ramphold.report._report_input import ReportInput

_ALSO_COUNTED = (
    "The probability also counts what the other stresses and the scatter of the specimens say: of "
    "the curve, and of whole grains through the sieves."
)
_TRUE_CLASS = (
    "A class is the true one if the fines without the deviations of this split, day, operator, "
    "press and pair of sieves are within the limit at its stress and all lower ones, and not at "
    "the next one tested. Stresses that were not tested are not considered. In bold: the class by "
    "the rule."
)


def result_blocks(given: ReportInput) -> Iterator[Block]:
    """The figure of all specimens."""
    evidence = given.evidence
    if evidence is None:
        yield Paragraph("No specimen counts yet.")
        return
    drawing = fines_drawing(
        FinesPicture(
            specimens=[one for one in given.record.specimens if not one.is_blank],
            means=[(one.stress_psi, one.fines) for one in given.budgets if one.fines],
            curve=given.curve,
            crossing=_crossing(given),
            limit_pct=given.limit_pct,
        )
    )
    if drawing is not None:
        name = f"Fines over stress of sample {given.record.sample.laboratory_number}."
        yield Figure(drawing=drawing, name=name, caption=_caption(given))


def evidence_blocks(given: ReportInput) -> Iterator[Block]:
    """The mean at each stress, the curve, outliers, and how certain the class is."""
    evidence = given.evidence
    if evidence is None:
        return
    yield table(
        "Fines by stress, over the specimens that count",
        "stress, psi:> | MPa:> | n:>0.4 | mean, %:> | U (95 %), %:> | sd, %:> | range, %:> | "
        "limit:<",
        (_stress_row(given, point) for point in evidence.found.points),
        note=(
            "U is the expanded uncertainty of the mean by the GUM; its budgets are in the section "
            "Uncertainty. "
            "sd with n − 1."  # noqa: RUF001 - a minus
        ),
    )
    yield Paragraph(_curve_text(given, _crossing(given)))
    outliers = Bullets(tuple(_outlier(given, point) for point in evidence.found.points))
    yield Group(title="Outliers", blocks=(outliers,))
    if given.record.edition.class_fines_pct is None:
        return
    if evidence.spread is not None:
        yield from _odds(given, evidence, evidence.spread)
    findings = (*evidence.found.findings, *evidence.findings)
    weak = listed(findings, "Nothing weakens the class.")
    yield Group(title="What weakens the class", blocks=(weak,))


def _crossing(given: ReportInput) -> Crossing | None:
    return given.curve.crossing(given.limit_pct) if given.curve and given.limit_pct else None


def _stress_row(given: ReportInput, point: StressPoint) -> TableRow:
    budget = next(one.fines for one in given.budgets if one.stress_psi == point.stress_psi)
    mean, reach = number(point.mean_pct, ".1f"), NONE
    if budget is not None:
        mean, reach = stated(budget.value, budget.expanded)
    fines = [pct for stress_psi, pct in given.record.counted if stress_psi == point.stress_psi]
    agreed = agreement(fines, given.record.bench.own_spread)
    width = number(agreed.range, ".2f") if point.n > 1 else NONE
    if agreed.agree is False:
        width += f", over {number(agreed.limit, '.2f')}"
    failed = given.limit_pct is not None and over(point.mean_pct, given.limit_pct)
    word = NONE if given.limit_pct is None else "OVER" if failed else "within"
    cells = (
        psi(point.stress_psi), mpa(point.stress_psi), str(point.n), mean, reach,
        number(point.sd_pct, ".2f"), width, word,
    )  # fmt: skip
    return TableRow(cells, marked(fail=failed or agreed.agree is False))


def _outlier(given: ReportInput, point: StressPoint) -> str:
    """What can be said of outliers at a stress. No result is left out because of it."""
    held = [
        (one.number, one.fines_pct)
        for one in given.record.specimens
        if one.counts and one.fines_pct is not None and one.added.target_psi == point.stress_psi
    ]
    fines = [pct for _, pct in held]
    at = f"{psi(point.stress_psi)} psi"
    if len(held) < TELLING:
        limit = agreement(fines, given.record.bench.own_spread).limit
        against = (
            "there is no laboratory spread to compare their range with"
            if limit is None
            else f"the laboratory's own spread allows a range of {limit:.2f} %"
        )
        return f"{at}: {len(held)} results alone cannot show an outlier; {against}"
    test = grubbs(fines)
    far = f"specimen {held[test.index][0]} lies {test.g:.2f} sd off the mean"
    if test.outlier:
        rule = f"by Grubbs' test (limit {test.critical:.2f})"
        return f"{at}: {far} and is an outlier {rule}; it counts unless a person leaves it out"
    return f"{at}: none by Grubbs' test; {far}, the limit is {test.critical:.2f}"


def _caption(given: ReportInput) -> str:
    said = (
        "Fines of each specimen over stress: filled dots count, crossed out ones do not. Those of "
        "one stress are moved apart to be seen; the bars to their right are their means with U."
    )
    if given.curve is not None:
        said += " The line is the fitted curve, the tint its 95 % interval."
    if given.limit_pct is not None:
        said += f" Dotted: the limit of {given.limit_pct:g} %."
    return said


def _curve_text(given: ReportInput, crossing: Crossing | None) -> str:
    curve = given.curve
    if curve is None:
        return (
            "No curve is fitted: that needs three specimens at two stresses, and fines that rise "
            "with stress."
        )
    text = (
        "The curve is a straight line of the log-odds of the fines over the logarithm of stress, "
        f"by least squares over {psi(min(curve.stresses_psi))} to {psi(max(curve.stresses_psi))} "
        f"psi; residual standard deviation {curve.line.residual_sd:.3f} on {curve.line.dof} "
        "degrees of freedom."
    )
    if curve.lack is not None:
        text += f" Lack of fit: p = {curve.lack.p_value:.2g}."
    if crossing is not None:
        text += f" It crosses {given.limit_pct:g} % at {psi(crossing.stress_psi)} psi"
        if crossing.low_psi is None or crossing.high_psi is None:
            text += "; its slope is too uncertain for an interval"
        else:
            low, high = psi(crossing.low_psi), psi(crossing.high_psi)
            text += f", 95 % interval {low} to {high} psi"
        text += ", outside the stresses tested." if crossing.extrapolated else "."
    if curve.findings:
        text += " " + "; ".join(curve.findings).capitalize() + "."
    return text


def _odds(given: ReportInput, evidence: ClassEvidence, spread: Spread) -> Iterator[Block]:
    own = given.record.bench.own_spread
    pooled = ", from the replicates of this sample"
    if own is not None:
        pooled = (
            f", pooled from the replicates of this sample and the laboratory's control sand "
            f"({own.sd:.2f} % on {own.dof:.0f})"
        )
    yield table(
        "Distance to the limit at each stress",
        "stress, psi:> | under the limit by, %:> | u of the mean, %:> | 95 % interval, ± %:> | "
        "probability that the true mean is within the limit:>",
        (
            TableRow(
                (psi(one.stress_psi), number(one.distance_pct, "+.2f"), number(one.u_pct, ".2f"),
                 number(one.interval_pct, ".2f"), number(one.passes, ".3f")),
                marked(strong=one in evidence.deciding),
            )
            for one in evidence.stresses
        ),
        note=(
            f"From one spread near the limit for all stresses: {spread.sd:.2f} % for a single "
            f"specimen on {spread.dof:.0f} degrees of freedom{pooled}. "
            f"{_shared(given, evidence)}. {_ALSO_COUNTED} In bold: the deciding stresses."
        ),
    )  # fmt: skip
    yield table(
        "Probability of each class that the stresses tested can give",
        "class:< | that it is the true class:> | that a repeat of the test gives it:>",
        (
            TableRow(
                (one.crush_class or "under the lowest", number(one.probability, ".3f"),
                 number(one.repeat, ".3f")),
                marked(strong=one.crush_class == evidence.found.crush_class),
            )
            for one in evidence.classes
        ),
        note=_TRUE_CLASS,
    )  # fmt: skip


def _shared(given: ReportInput, evidence: ClassEvidence) -> str:
    """What specimens of one day and split share, and where that is known from."""
    between, laboratory = evidence.between, given.record.bench.laboratory
    if between is None:
        return "Nothing is known from one day and split to the next"
    sources = laboratory.sources if laboratory else ()
    parts = "; ".join(f"{one.words} {one.spread.sd:.2f} %" for one in sources)
    return (
        f"{between.sd:.2f} % on {between.dof:.1f} is added to the u of each mean for what "
        f"specimens of one day and split share ({parts})"
    )
