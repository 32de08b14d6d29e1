"""The results before the crush: preparation, sieve analysis, density, other tests."""

from collections.abc import Iterator

from ramphold.method.entered import INSTRUMENT_TESTS, PROPERTIES
from ramphold.method.limits import ResultLimit, limit_words
from ramphold.method.sieves import PAN, opening_mm
from ramphold.method.sieving import SieveAnalysis, size_at_mm
from ramphold.report._document import (
    Block,
    Bullets,
    Facts,
    Figure,
    Paragraph,
    TableRow,
    marked,
    table,
)
from ramphold.report._format import NONE, NOT_RECORDED, date, number, printed_unit, together
from ramphold.report._report_input import ReportInput
from ramphold.report._sieve_figure import passing_pct, sieve_drawing
from ramphold.sample import SampleRecord, Shaking

_WORDS = {True: "within limits", False: "OUTSIDE LIMITS", None: NONE}


def sieve_blocks(given: ReportInput) -> Iterator[Block]:
    """The sieve analysis: sieve by sieve, the curve, and how it compares with the limits."""
    record = given.record
    sieving = record.sieving
    if not sieving.masses_g and sieving.charge_g is None:
        yield Paragraph("Not done.")
        return
    passing, total = passing_pct(sieving.masses_g), sum(sieving.masses_g.values())
    yield table(
        f"Charge {number(sieving.charge_g, '.2f')} g, recovered {total:.2f} g",
        "sieve:< | opening, mm:> | net mass, g:> | held, %:> | passing, %:>",
        (
            (
                "pan" if sieve == PAN else f"No. {sieve}",
                NONE if sieve == PAN else f"{opening_mm(sieve):.3f}",
                number(sieving.masses_g[sieve], ".2f"),
                number(100 * sieving.masses_g[sieve] / total if total else None, ".2f"),
                NONE if sieve == PAN else number(pct, ".2f"),
            )
            for sieve, pct in passing.items()
        ),
        note="Shares are in % of the recovered sum.",
    )
    if sieving.missing:
        yield Paragraph(f"Not weighed yet: {together(sieving.missing)}.")
    if sieving.analysis is not None:
        yield from _analysis(record, sieving.analysis)


def _analysis(record: SampleRecord, analysis: SieveAnalysis) -> Iterator[Block]:
    size = record.size
    yield Figure(
        drawing=sieve_drawing(record.sieving.masses_g, size, analysis),
        name=f"Sieve curve of sample {record.sample.laboratory_number}.",
        caption=(
            "The share that passes each opening (line with dots) and the share on each sieve "
            f"(dashed steps); tinted: the claimed size, {size.name}."
        ),
    )
    allowed = record.edition.sieving[record.sample.use]
    yield Facts((
        (
            f"In size {size.name}",
            f"{analysis.in_size_pct:.2f} %; {allowed.in_size_pct:g} % or more",
        ),
        (
            f"On No. {size.stack[0]}",
            f"{analysis.oversize_pct:.2f} %; {allowed.coarse_pct:g} % or less",
        ),
        (
            f"Through No. {size.stack[-1]}",
            f"{analysis.undersize_pct:.2f} %; {allowed.fine_pct:g} % or less",
        ),
        ("Lost", f"{number(analysis.loss_pct, '.2f')} %; {allowed.loss_pct:g} % or less"),
        ("Mean diameter", f"{number(analysis.mean_mm, '.3f')} mm"),
        ("Median diameter", f"{number(analysis.median_mm, '.3f')} mm"),
        ("Passed by 10, 50, 90 %", _passed(record)),
        ("Shaken", _shaken(record.sieve_shaking)),
        ("Conforms, by the values", "yes" if analysis.conforms else "NO"),
    ))  # fmt: skip
    if analysis.findings:
        yield Bullets(analysis.findings)


def _shaken(shaking: Shaking | None) -> str:
    if shaking is None:
        return NONE
    by = ", by the calendar" if shaking.by_calendar else ""
    return f"{round(shaking.shaken_s / 60, 1):g} min{by}, {date(shaking.started.utc_ns)}"


def _passed(record: SampleRecord) -> str:
    size = record.size
    sizes = (size_at_mm(record.sieving.masses_g, size, pct) for pct in (10.0, 50.0, 90.0))
    return f"{together(number(one, '.3f') for one in sizes)} mm"


def density_blocks(given: ReportInput) -> Iterator[Block]:
    """Preparation and loose bulk density."""
    record = given.record
    made, bulk = record.preparation, record.density
    weighed = (
        ("Received", made.received_g),
        ("Split", made.split_g),
        ("Washed", made.washed_g),
        ("Dried", made.dried_g),
    )
    pairs = [(name, _grams(mass_g)) for name, mass_g in weighed if mass_g is not None]
    if made.wash_loss_pct is not None:
        loss = f"{number(made.wash_loss_pct, '.2f')} % of the split mass"
        pairs.append(("Lost in washing", loss))
    if not pairs:
        pairs.append(("Preparation", "no mass was taken"))
    if bulk.cylinder is not None:
        chosen = bulk.cylinder
        volume = f"{chosen.volume_cm3:.3f} cm³ (record {chosen.calibration})"
        pairs += [
            ("Cylinder", f"{chosen.cylinder}, {volume}"),
            ("Fills", together((f"{one:.2f} g" for one in bulk.fills_g), NONE)),
        ]
    pairs.append(("Loose bulk density", f"{number(bulk.bulk_density_g_cm3, '.3f')} g/cm³"))
    yield Facts(tuple(pairs))
    yield Paragraph(_DENSITY_U if len(bulk.fills_g) > 1 else _NO_DENSITY_U)


_NO_DENSITY_U = "From one fill. No uncertainty is stated, since one fill does not show the scatter."
_DENSITY_U = (
    "The mean of the fills. Its U is that of their scatter and of the last digit of the balance; "
    "the volume of the cylinder counts as exact."
)


def _grams(mass_g: float | None) -> str:
    return NONE if mass_g is None else f"{mass_g:g} g"


def _with(record: SampleRecord, test: str) -> str:
    """The instrument of a test that has one, and its certificate."""
    if test not in INSTRUMENT_TESTS:
        return ""
    if (chosen := record.instruments.get(test)) is None:
        return f"; instrument {NOT_RECORDED}"
    certificate = chosen.certificate or "no certificate"
    return f"; instrument {chosen.instrument} ({certificate})"


def _limit(limit: ResultLimit | None, unit: str) -> str:
    if limit is None:
        return NONE
    return limit_words(limit.limit, unit, upper=limit.upper)


def other_blocks(given: ReportInput) -> Iterator[Block]:
    """Tests by mass before and after, and entered results."""
    record = given.record
    rows = [
        TableRow(
            (
                one.test,
                f"{_grams(one.before_g)} to {_grams(one.after_g)}{_with(record, one.test)}",
                f"{number(one.loss.loss_pct, '.2f')} %" if one.loss else NONE,
                _limit(one.loss.limit if one.loss else None, "%"),
                _WORDS[one.loss.passes if one.loss else None],
            ),
            marked(fail=one.loss is not None and one.loss.passes is False),
        )
        for one in record.gravimetric
    ]  # fmt: skip
    rows += [
        TableRow(
            (
                one.name,
                f"entered by hand{_with(record, one.name)}",
                f"{one.value:.3g} {printed_unit(PROPERTIES[one.name].unit)}".strip(),
                _limit(one.limit, PROPERTIES[one.name].unit), _WORDS[one.passes],
            ),
            marked(fail=one.passes is False),
        )
        for one in record.properties
    ]  # fmt: skip
    if not rows:
        return
    yield table("", "test:<1.2 | from:<2 | result:> | limit:< | :<0.7", rows)
    found = [record.edition.procedure_of(one.test) for one in record.gravimetric]
    steps = [f"{one.of}: {one.steps} ({one.source})" for one in found if one is not None]
    findings = [f"{one.name}: {said}" for one in record.properties for said in one.findings]
    if said := (*steps, *findings):
        yield Bullets(said)
