"""The tables of a report, wherever in it they stand."""

from dataclasses import fields, is_dataclass

from ramphold.report._document import Table, TableRow


def tables(part):
    """Each table in a part of a document, in order."""
    if isinstance(part, Table):
        yield part
    elif isinstance(part, tuple):
        for one in part:
            yield from tables(one)
    elif is_dataclass(part) and not isinstance(part, TableRow):
        for field in fields(part):
            yield from tables(getattr(part, field.name))
