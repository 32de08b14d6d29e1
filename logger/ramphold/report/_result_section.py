"""Fines over stress, the class, and how sure it is."""

from collections.abc import Iterator, Sequence

from ramphold.method.crush_class import StressPoint
from ramphold.method.limits import over
from ramphold.method.outliers import TELLING, agreement, grubbs
from ramphold.method.uncertainty import stated
from ramphold.report._document import (
    Block,
    Bullets,
    Column,
    Emphasis,
    Figure,
    Group,
    Paragraph,
    ReportSection,
    Table,
    TableRow,
)
from ramphold.report._fines_figure import FinesPicture, fines_drawing
from ramphold.report._format import NONE, mpa, number, psi
from ramphold.report._report_input import ReportInput

__all__ = ["result_section"]


def result_section(given: ReportInput) -> ReportSection:
    """Everything that the specimens together say."""
    if given.evidence is None:
        blocks: tuple[Block, ...] = (Paragraph("No specimen counts yet."),)
    else:
        blocks = tuple(_blocks(given))
    return ReportSection(title="Crush resistance", blocks=blocks)


def _blocks(given: ReportInput) -> Iterator[Block]:
    evidence = given.evidence
    crossing = given.curve.crossing(given.limit_pct) if given.curve and given.limit_pct else None
    drawing = fines_drawing(
        FinesPicture(
            specimens=given.record.specimens,
            means=[(one.stress_psi, one.fines) for one in given.budgets if one.fines],
            curve=given.curve,
            crossing=crossing,
            limit_pct=given.limit_pct,
        )
    )
    if drawing is not None:
        name = f"Fines over stress of sample {given.record.sample.laboratory_number}."
        yield Figure(drawing=drawing, name=name, caption=_caption(given))
    yield Paragraph(_curve_text(given))
    yield _stresses(given)
    yield Group(title="Outliers", blocks=(Bullets(tuple(_outliers(given))),))
    if evidence is not None and given.record.edition.class_fines_pct is not None:
        if evidence.spread is not None:
            yield from _odds(given)
        findings = (*evidence.found.findings, *evidence.findings)
        said = Bullets(findings) if findings else Paragraph("Nothing weakens the class.")
        yield Group(title="What weakens the class", blocks=(said,))


def _stresses(given: ReportInput) -> Table:
    points = given.evidence.found.points if given.evidence else ()
    return Table(
        caption="Fines by stress, over the specimens that count",
        columns=(
            Column("stress, psi"),
            Column("MPa"),
            Column("n", 0.4),
            Column("mean, %"),
            Column("U (95 %), %"),
            Column("sd, %"),
            Column("range, %"),
            Column("limit", 1.0, numeric=False),
        ),
        rows=tuple(_stress_row(given, point) for point in points),
        note=(
            "U is the expanded uncertainty of the mean by the GUM; its budgets stand in a section "
            "of their own. sd with n − 1."  # noqa: RUF001 - a minus
        ),
    )


def _stress_row(given: ReportInput, point: StressPoint) -> TableRow:
    budget = next(one.fines for one in given.budgets if one.stress_psi == point.stress_psi)
    mean, reach = number(point.mean_pct, ".1f"), NONE
    if budget is not None:
        mean, reach = stated(budget.value, budget.expanded)
    fines = [pct for stress_psi, pct in given.record.counted if stress_psi == point.stress_psi]
    agreed = agreement(fines, given.record.bench.laboratory)
    width = number(agreed.range, ".2f") if point.n > 1 else NONE
    if agreed.agree is False:
        width += f", over {number(agreed.limit, '.2f')}"
    failed = given.limit_pct is not None and over(point.mean_pct, given.limit_pct)
    word = NONE if given.limit_pct is None else "OVER" if failed else "within"
    cells = (
        psi(point.stress_psi), mpa(point.stress_psi), str(point.n), mean, reach,
        number(point.sd_pct, ".2f"), width, word,
    )  # fmt: skip
    return TableRow(cells, Emphasis.FAIL if failed or agreed.agree is False else Emphasis.PLAIN)


def _outliers(given: ReportInput) -> Iterator[str]:
    """What can be said of results that do not belong, at each stress; nobody is left out for it."""
    for point in given.evidence.found.points if given.evidence else ():
        held = [
            (one.number, one.fines_pct)
            for one in given.record.specimens
            if one.counts and one.fines_pct is not None
            and one.added.target_psi == point.stress_psi
        ]  # fmt: skip
        fines = [pct for _, pct in held]
        at = f"{psi(point.stress_psi)} psi"
        if len(held) < TELLING:
            limit = agreement(fines, given.record.bench.laboratory).limit
            against = (
                "nothing to hold their range against"
                if limit is None
                else f"the laboratory's own spread allows them a range of {limit:.2f} %"
            )
            yield f"{at}: {len(held)} results can't tell by themselves; {against}"
            continue
        test = grubbs(fines)
        far = f"specimen {held[test.index][0]} lies {test.g:.2f} sd off the mean"
        if test.outlier:
            tells = f"does not belong with the others by Grubbs' test (over {test.critical:.2f})"
            yield f"{at}: {far} and {tells}; it counts as long as nobody leaves it out"
        else:
            yield f"{at}: none by Grubbs' test; {far}, over {test.critical:.2f} would tell"


def _caption(given: ReportInput) -> str:
    said = (
        "Fines of each specimen over stress: filled dots count, struck out ones do not; the bars "
        "beside them are the means with their expanded uncertainty."
    )
    if given.curve is not None:
        said += " The line is the fitted curve, the tint its 95 % interval."
    if given.limit_pct is not None:
        said += f" Dotted: the limit of {given.limit_pct:g} %."
    return said


def _curve_text(given: ReportInput) -> str:
    curve = given.curve
    if curve is None:
        return (
            "No curve is fitted: it takes three specimens over two stresses, and fines that rise "
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
    crossing = curve.crossing(given.limit_pct) if given.limit_pct else None
    if crossing is not None:
        text += f" It comes to {given.limit_pct:g} % at {psi(crossing.stress_psi)} psi"
        if crossing.low_psi is None or crossing.high_psi is None:
            text += "; the rise of the fines is too unsure to bound that"
        else:
            low, high = psi(crossing.low_psi), psi(crossing.high_psi)
            text += f", 95 % interval {low} to {high} psi"
        text += ", outside the stresses tested." if crossing.extrapolated else "."
    if curve.findings:
        text += " " + "; ".join(curve.findings).capitalize() + "."
    return text


def _odds(given: ReportInput) -> Iterator[Block]:
    evidence = given.evidence
    if evidence is None or evidence.spread is None:
        return
    yield Table(
        caption="Distance to the limit at each stress",
        columns=(
            Column("stress, psi"),
            Column("under the limit by, %"),
            Column("u of the mean, %"),
            Column("95 % interval, ± %"),
            Column("probability that the true mean keeps to the limit"),
        ),
        rows=tuple(
            TableRow(
                (
                    psi(one.stress_psi),
                    number(one.distance_pct, "+.2f"),
                    number(one.u_pct, ".2f"),
                    number(one.interval_pct, ".2f"),
                    number(one.passes, ".3f"),
                ),
                Emphasis.STRONG if one in evidence.deciding else Emphasis.PLAIN,
            )
            for one in evidence.stresses
        ),
        note=(
            f"By one spread about the limit for all stresses: {evidence.spread.sd:.2f} % for a "
            f"single specimen on {evidence.spread.dof:.0f} degrees of freedom"
            f"{_pooled_with(given)}. In bold: the stresses that decide."
        ),
    )
    yield _classes(given)


def _pooled_with(given: ReportInput) -> str:
    own = given.record.bench.laboratory
    if own is None:
        return ", from the replicates of this sample"
    return (
        f", pooled from the replicates of this sample and the laboratory's control sand "
        f"({own.sd:.2f} % on {own.dof:.0f})"
    )


def _classes(given: ReportInput) -> Table:
    evidence = given.evidence
    odds: Sequence[TableRow] = () if evidence is None else [
        TableRow(
            (
                one.crush_class or "under the lowest",
                number(one.probability, ".3f"),
                number(one.repeat, ".3f"),
            ),
            Emphasis.STRONG if one.crush_class == evidence.found.crush_class else Emphasis.PLAIN,
        )
        for one in evidence.classes
    ]  # fmt: skip
    return Table(
        caption="Probability of each class that the stresses tested can tell",
        columns=(
            Column("class", 1.0, numeric=False),
            Column("that it is the true one"),
            Column("that the same test once more gives it"),
        ),
        rows=tuple(odds),
        note="Nothing is said of stresses that were not tested. In bold: the class by the rule.",
    )
