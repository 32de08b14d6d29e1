"""A report as a small tree of headings, texts, tables and figures, whatever renders it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from ramphold.report._drawing import Drawing


class Emphasis(StrEnum):
    """How a row or a notice stands out."""

    PLAIN = "plain"
    FAIL = "fail"
    FAINT = "faint"
    STRONG = "strong"


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A few sentences."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of separate sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with their values."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something that no reader may miss."""

    title: str
    text: str
    tone: Emphasis = Emphasis.PLAIN


@dataclass(frozen=True, slots=True)
class Column:
    """A column's head, its share of the width, and whether it holds numbers."""

    head: str
    weight: float = 1.0
    numeric: bool = True


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row's cells; `bad` has the positions of single cells shown as `Emphasis.FAIL`."""

    cells: tuple[str, ...]
    tone: Emphasis = Emphasis.PLAIN
    bad: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; `note` is printed below it."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[TableRow, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing; `name` describes it to a reader who cannot see it, `caption` is below it."""

    drawing: Drawing
    name: str
    caption: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Blocks under a small heading that stay on one page."""

    title: str
    blocks: tuple["Block", ...]


Block: TypeAlias = Paragraph | Bullets | Facts | Notice | Table | Figure | Group


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportSection:
    """A section; those of the report and those of its annex are numbered each by themselves.

    The annex begins on a new page.
    """

    title: str
    blocks: tuple[Block, ...]
    annex: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverResult:
    """The result in large type: its label, its value, and lines that qualify it."""

    label: str
    value: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """The laboratory at the head of the report; each part may be empty."""

    name: str = ""
    address: tuple[str, ...] = ()
    accreditation: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole report.

    Attributes:
        letterhead: the laboratory.
        title, number: what it reports, and the laboratory number of the sample.
        revision: such as `Revision 2` or `Draft, not issued`.
        issued: the time of issue, as printed.
        headline: the result.
        notices: at the top.
        facts: the sample and the people, beside the result.
        caution: what the result is not, in a line under it.
        sections: in order.
        seal: the record's hash, at the foot of each page.
        results: the results as JSON, for programs.
    """

    letterhead: Letterhead
    title: str
    number: str
    revision: str
    issued: str
    headline: CoverResult
    notices: tuple[Notice, ...]
    facts: Facts
    caution: str
    sections: tuple[ReportSection, ...]
    seal: str
    results: str

    def numbered(self) -> Iterator[tuple[str, ReportSection]]:
        """Each section with its number: 1, 2 and so on, in the annex A1, A2."""
        for prefix, annex in (("", False), ("A", True)):
            held = (one for one in self.sections if one.annex is annex)
            yield from ((f"{prefix}{at}", one) for at, one in enumerate(held, start=1))


def table(
    caption: str,
    columns: str,
    rows: Iterable[TableRow | tuple[str, ...]],
    *,
    note: str = "",
    empty: str = "none.",
) -> Table | Paragraph:
    """A table, or a sentence that says there is nothing to list.

    Args:
        caption: what it lists.
        columns: `head:<weight` for words and `head:>weight` for numbers, with ` | ` between
            them; a weight of 1 may be left out.
        rows: the cells of each row.
        note: printed below the table.
        empty: follows the caption where there are no rows.
    """
    held = tuple(one if isinstance(one, TableRow) else TableRow(one) for one in rows)
    if not held:
        return Paragraph(f"{caption}: {empty}")
    return Table(caption=caption, columns=_columns(columns), rows=held, note=note)


def _columns(text: str) -> tuple[Column, ...]:
    parts = (part.rpartition(":") for part in text.split(" | "))
    return tuple(
        Column(head, float(form[1:] or 1.0), numeric=form[0] == ">") for head, _, form in parts
    )


def listed(items: Iterable[str], nothing: str = "None.") -> Bullets | Paragraph:
    """A list, or a sentence that says there is nothing in it."""
    held = tuple(items)
    return Bullets(held) if held else Paragraph(nothing)


def marked(*, fail: bool = False, strong: bool = False) -> Emphasis:
    """The emphasis of a row that fails, or that decides."""
    return Emphasis.FAIL if fail else Emphasis.STRONG if strong else Emphasis.PLAIN
