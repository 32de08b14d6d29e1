"""A file within the PDF, for programs (ISO 32000-2:2020, 14.13: an associated file)."""

from typing import Any

from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFStream,
    PDFString,
)


def attach(document: Any, name: str, text: str, what: str) -> None:  # noqa: ANN401 - untyped library
    """Put JSON into the file.

    Args:
        document: the PDF.
        name: the name of the file in it.
        text: its content.
        what: said of it to a reader.
    """
    stream = PDFStream(
        PDFDictionary({"Type": PDFName("EmbeddedFile"), "Subtype": "/application#2Fjson"}),
        text.encode(),
    )
    file = PDFDictionary(
        {
            "Type": PDFName("Filespec"),
            "F": PDFString(name),
            "UF": PDFString(name),
            "Desc": PDFString(what),
            "AFRelationship": PDFName("Data"),
            "EF": PDFDictionary({"F": document.Reference(stream, "AttachedStream")}),
        }
    )
    spec = document.Reference(file, "AttachedFile")
    catalog = document.Catalog
    catalog.__NoDefault__ = [*catalog.__NoDefault__, "AF"]
    catalog.AF = PDFArray([spec])
    names = PDFDictionary({"Names": PDFArray([PDFString(name), spec])})
    catalog.Names = PDFDictionary({"EmbeddedFiles": names})
