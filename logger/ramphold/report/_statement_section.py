"""Results without a limit, and the statements that every report makes."""

from collections.abc import Iterator

from ramphold.method.entered import PROPERTIES
from ramphold.report._document import Block, Bullets, Group
from ramphold.report._format import number
from ramphold.report._report_input import ReportInput

_STATEMENTS = """\
The results relate only to the item as received and to the specimens tested. How well they \
represent a lot depends on its sampling, which the laboratory did not do and which is not in U.
* Given by the customer. The laboratory is not responsible for it, and the results depend on it.
No result is from an external provider, and no opinion is given beyond the decisions above.
The cautions in the annex are part of this report, which may only be copied in full."""


def statement_blocks(given: ReportInput) -> Iterator[Block]:
    """What the results relate to, who gave which data, and what is not in the report."""
    del given
    items = Bullets(tuple(_STATEMENTS.splitlines()))
    yield Group(title="Statements", blocks=(items,))


def other_results(given: ReportInput) -> Iterator[tuple[str, str]]:
    """Name and value of each result that no limit belongs to, with what is known of its U."""
    record = given.record
    density, analysis = record.density.bulk_density_g_cm3, record.sieving.analysis
    if density is not None:
        yield "Loose bulk density", f"{number(density, '.3f')} g/cm³ (one fill, U not known)"
    if analysis is not None:
        yield (
            "Mean, median diameter",
            (
                f"{number(analysis.mean_mm, '.3f')}, {number(analysis.median_mm, '.3f')} mm "
                "(one analysis, U not known)"
            ),
        )
    for one in record.gravimetric:
        if one.loss is not None and one.loss.limit is None:
            yield one.test.capitalize(), f"{number(one.loss.loss_pct, '.2f')} % (U not known)"
    for value in record.properties:
        if value.passes is None:
            unit = PROPERTIES[value.name].unit
            yield value.name.capitalize(), f"{value.value:.3g} {unit} (U not known)"
