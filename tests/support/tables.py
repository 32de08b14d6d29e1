"""The tables of a report, at any depth."""

from dataclasses import fields, is_dataclass

from ramphold.report._document import Table, TableRow


def tables(part):
    """Every table in a part of a document, in order."""
    if isinstance(part, Table):
        yield part
    elif isinstance(part, tuple):
        for one in part:
            yield from tables(one)
    elif is_dataclass(part) and not isinstance(part, TableRow):
        for field in fields(part):
            yield from tables(getattr(part, field.name))
