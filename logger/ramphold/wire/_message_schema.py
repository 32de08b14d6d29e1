"""The JSON Schema of the messages between a bench and the laboratory's server."""

import inspect
from typing import Any

import msgspec

from ramphold.sample import Record
from ramphold.wire._bench_messages import MESSAGES


def schema() -> dict[str, Any]:
    """A schema whose `$defs` are the messages, by their types' names, and the records in them."""
    refs, parts = msgspec.json.schema_components(
        [*MESSAGES.values(), Record], ref_template="#/$defs/{name}"
    )
    for part in parts.values():
        if "description" in part:
            # Python 3.13 strips a docstring's indentation, older ones keep it.
            part["description"] = inspect.cleandoc(part["description"])
    *messages, record = refs
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "data of a CloudEvent, by its type",
        "$defs": {
            **dict(sorted(parts.items())),
            "Record": record,
            **dict(zip(MESSAGES, messages, strict=True)),
        },
    }
