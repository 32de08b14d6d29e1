"""A report as a small tree of headings, texts, tables and figures, whatever draws it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from ramphold.report._drawing import Drawing

__all__ = [
    "Block",
    "Bullets",
    "Column",
    "CoverResult",
    "Document",
    "Emphasis",
    "Facts",
    "Figure",
    "Group",
    "Letterhead",
    "Notice",
    "Paragraph",
    "ReportSection",
    "Table",
    "TableRow",
]


class Emphasis(StrEnum):
    """How a row or a notice is meant."""

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
    """Sentences that stand by themselves."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with their values."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """What nobody shall overlook."""

    title: str
    text: str
    tone: Emphasis = Emphasis.PLAIN


@dataclass(frozen=True, slots=True)
class Column:
    """A column's head, its share of the width, and whether numbers stand in it."""

    head: str
    weight: float = 1.0
    numeric: bool = True


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row's cells, and which of them are meant as `Emphasis.FAIL` by themselves."""

    cells: tuple[str, ...]
    tone: Emphasis = Emphasis.PLAIN
    bad: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; `note` stands under it."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[TableRow, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing; `name` tells what it is to one who can't see it, the caption stands under it."""

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
    """A section; they are numbered in order."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverResult:
    """The result in large type: what it is called, the result, and what qualifies it."""

    label: str
    value: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """Whose report it is, as it stands at its head; each part may be empty."""

    name: str = ""
    address: tuple[str, ...] = ()
    accreditation: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole report.

    Attributes:
        letterhead: whose it is.
        title, number: what it is, and of which sample.
        revision: such as `Revision 2` or `Draft, not issued`.
        issued: when, as it is printed.
        headline: the result.
        notices: what stands before everything else.
        facts: who and what, beside the result.
        caution: what the result is not, in a line under it.
        sections: in order.
        seal: the record's hash, at the foot of each page.
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
