"""What the PDF says of itself in XML: its title, its author and its language.

It does not say that it conforms to PDF/UA-1, since no validator has judged it. Sources:
ISO 14289-1:2014, clause 7.1 (the title), and ISO 16684-1 (the packet), from memory.
"""

from typing import Any
from xml.sax.saxutils import escape

from reportlab.pdfbase.pdfdoc import XMP

# A byte-order mark, by which a reader finds the encoding.
_MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"


def describe(document: Any, title: str, author: str) -> None:  # noqa: ANN401 - untyped library
    """Put the description into the file, uncompressed, so that any program finds it."""
    packet = _packet(title, author).encode()
    document.Catalog.Metadata = XMP(creator=lambda _: packet)


def _packet(title: str, author: str) -> str:
    return f"""<?xpacket begin="{_MARK}" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{escape(author)}</rdf:li></rdf:Seq></dc:creator>
<dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""
