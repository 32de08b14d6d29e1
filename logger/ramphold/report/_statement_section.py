"""The statements that every report makes."""

from collections.abc import Iterator

from ramphold.report._document import Block, Bullets, Group
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
