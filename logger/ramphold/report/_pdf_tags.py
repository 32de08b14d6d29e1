"""The tags of a PDF: what its marks are, in reading order (ISO 32000-1:2008, 14.7 and 14.8).

The library draws; it writes no tags. So a tree of tags is made from the flowables before they are
drawn, each notes where it was drawn, and the tree goes into the file with the pages.
"""

from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from typing import Any

from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFObjectReference,
    PDFString,
)
from reportlab.platypus import Flowable, KeepTogether
from reportlab.platypus import Paragraph as LibraryParagraph
from reportlab.platypus import Table as LibraryTable


@dataclass(slots=True, eq=False)
class Tag:
    """An element of the structure.

    Attributes:
        role: its standard type, such as `H1`, `P` or `TH`.
        kids: elements in it, in reading order.
        places: page (from 0) and number of each piece of marked content.
        scope: `Row` or `Column` for the head of one.
        words: describes a figure to who cannot see it.
    """

    role: str
    kids: list["Tag"] = field(default_factory=list)
    places: list[tuple[int, int]] = field(default_factory=list)
    scope: str = ""
    words: str = ""

    def add(self, role: str, *, scope: str = "", words: str = "") -> "Tag":
        """A new element after the others."""
        kid = Tag(role, scope=scope, words=words)
        self.kids.append(kid)
        return kid


class MarkedPages:
    """The marked content of the pages drawn so far."""

    def __init__(self) -> None:
        self._on_pages: list[list[Tag]] = [[]]

    def next_page(self) -> None:
        """What follows is on a new page."""
        self._on_pages.append([])

    @contextmanager
    def drawing(self, code: list[str], tag: Tag | None) -> Iterator[None]:
        """What is drawn within belongs to a tag; without one it is decoration."""
        if tag is None:
            code.append("/Artifact BMC")
        else:
            page = self._on_pages[-1]
            code.append(f"/{tag.role} <</MCID {len(page)}>> BDC")
            tag.places.append((len(self._on_pages) - 1, len(page)))
            page.append(tag)
        yield
        code.append("EMC")

    def write(self, document: Any, root: Tag, pages: Sequence[Any]) -> None:  # noqa: ANN401 - untyped library
        """Put the tree into the file, with its pages."""
        names: dict[int, PDFObjectReference] = {}
        objects: dict[int, PDFDictionary] = {}
        for number, tag in enumerate(_all(root)):
            objects[id(tag)] = PDFDictionary({})
            names[id(tag)] = document.Reference(objects[id(tag)], f"Tag{number}")
        page_names = [document.Reference(page) for page in pages]
        tree = PDFDictionary({})
        tree_name = document.Reference(tree, "Tags")
        for tag in _all(root):
            objects[id(tag)].dict |= _element(tag, names, page_names)
            for kid in tag.kids:
                objects[id(kid)].dict["P"] = names[id(tag)]
        objects[id(root)].dict["P"] = tree_name
        nums: list[Any] = []
        for number, (page, tags) in enumerate(zip(pages, self._on_pages, strict=False)):
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = number, PDFName("S")
            nums += [number, PDFArray([names[id(tag)] for tag in tags])]
        tree.dict |= {
            "Type": PDFName("StructTreeRoot"),
            "K": names[id(root)],
            "ParentTree": PDFDictionary({"Nums": PDFArray(nums)}),
            "ParentTreeNextKey": len(pages),
        }
        document.Catalog.StructTreeRoot = tree
        document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def drawing(canvas: Any, tag: Tag | None) -> AbstractContextManager[None]:  # noqa: ANN401 - ours
    """What is drawn within on a canvas with `marks` belongs to a tag, or is decoration."""
    found: AbstractContextManager[None] = canvas.marks.drawing(canvas._code, tag)  # noqa: SLF001 - its operators
    return found


def _all(tag: Tag) -> Iterator[Tag]:
    yield tag
    for kid in tag.kids:
        yield from _all(kid)


def _element(
    tag: Tag, names: dict[int, PDFObjectReference], pages: Sequence[PDFObjectReference]
) -> dict[str, Any]:
    kids: list[Any] = [names[id(kid)] for kid in tag.kids]
    kids += [
        PDFDictionary({"Type": PDFName("MCR"), "Pg": pages[page], "MCID": mark})
        for page, mark in tag.places
    ]
    found = {"Type": PDFName("StructElem"), "S": PDFName(tag.role), "K": PDFArray(kids)}
    if tag.words:
        found["Alt"] = PDFString(tag.words)
    if tag.scope:
        table = {"O": PDFName("Table"), "Scope": PDFName(tag.scope)}
        found["A"] = PDFDictionary(table)
    return found


class TaggedParagraph(LibraryParagraph):
    """A paragraph that draws itself as its tag.

    Drawn again, as the head of a table on its next page, it is decoration.
    """

    tag: Tag | None = None
    _is_drawn = False

    def draw(self) -> None:
        """Draw it."""
        tag = None if self._is_drawn else self.tag
        self._is_drawn = True
        with drawing(self.canv, tag):
            super().draw()

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        """Its parts, which stay one element."""
        parts = super().split(available_width, available_height)
        for part in parts:
            part.tag = self.tag  # type: ignore[attr-defined]
        return parts


class TaggedTable(LibraryTable):
    """A table whose lines and grounds are decoration.

    Attributes:
        kind: `Table`, `L` for a list of pairs, or empty where it only places things.
        pairs: of a list of pairs, label and value in reading order.
    """

    kind = ""
    pairs: Sequence[tuple[TaggedParagraph, TaggedParagraph]] = ()

    def _drawBkgrnd(self) -> None:  # noqa: N802 - the library's name
        with drawing(self.canv, None):
            super()._drawBkgrnd()  # type: ignore[misc]

    def _drawLines(self) -> None:  # noqa: N802 - the library's name
        with drawing(self.canv, None):
            super()._drawLines()  # type: ignore[misc]


def tag_story(story: Sequence[Flowable]) -> Tag:
    """Tag each flowable of a story; the tag of the whole."""
    root = Tag("Document")
    _tag_each(story, root)
    return root


def _tag_each(flowables: Sequence[Any], parent: Tag) -> None:
    for one in flowables:
        if isinstance(one, TaggedParagraph):
            _tag_paragraph(one, parent)
        elif isinstance(one, TaggedTable):
            _tag_table(one, parent)
        elif isinstance(one, KeepTogether):
            _tag_each(one._content, parent)  # type: ignore[attr-defined]  # noqa: SLF001 - no public way to what it holds
        elif words := getattr(one, "words", ""):
            one.tag = parent.add("Figure", words=words)


def _tag_paragraph(one: TaggedParagraph, parent: Tag) -> None:
    role = getattr(one.style, "role", "P")
    if role == "LI":
        last = parent.kids[-1] if parent.kids else None
        held = last if last is not None and last.role == "L" else parent.add("L")
        one.tag = held.add("LI").add("LBody")
    else:
        one.tag = parent.add(role)


def _tag_table(one: TaggedTable, parent: Tag) -> None:
    if one.kind == "L":
        held = parent.add("L")
        for label, value in one.pairs:
            item = held.add("LI")
            label.tag, value.tag = item.add("Lbl"), item.add("LBody")
        return
    for number, row in enumerate(one._cellvalues):  # type: ignore[attr-defined]  # noqa: SLF001 - no public way to its cells
        if not one.kind:
            _tag_each(_flat(row), parent)
            continue
        if not number:
            held = parent.add("Table")
        cells = held.add("TR")
        for at, cell in enumerate(_flat(row)):
            scope = "Row" if number and not at else "" if number else "Column"
            cell.tag = cells.add("TH" if scope else "TD", scope=scope)


def _flat(cells: Sequence[Any]) -> list[Any]:
    return [part for cell in cells for part in (cell if isinstance(cell, list | tuple) else [cell])]
