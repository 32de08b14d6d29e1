"""The schema that is kept is that of the messages as they are."""

import inspect
import json
from pathlib import Path

import jsonschema
import pytest

from ramphold import wire
from ramphold.sample import Record, ValueEntered
from ramphold.wire import Receipt, RecordMessage, encode_body, schema

KEPT = json.loads((Path(wire.__file__).parent / "schema.json").read_text())


def test_the_kept_schema_is_that_of_the_types():
    # Where a type was changed on purpose: `make schema`.
    assert json.loads(json.dumps(schema())) == KEPT


def test_no_description_holds_the_indentation_of_the_source():
    # Python strips it from docstrings itself from 3.13 on.
    described = [part["description"] for part in KEPT["$defs"].values() if "description" in part]
    assert any("\n" in text for text in described)
    assert [text for text in described if text != inspect.cleandoc(text)] == []


def test_the_kept_schema_is_one_itself():
    jsonschema.Draft202012Validator.check_schema(KEPT)


def test_every_kind_of_record_is_in_it():
    kinds = {ref["$ref"].rpartition("/")[2] for ref in KEPT["$defs"]["Record"]["anyOf"]}
    assert kinds == {kind.__name__ for kind in Record.__args__}


def valid(message, name):
    whole = KEPT | {"$ref": f"#/$defs/{name}"}
    return jsonschema.Draft202012Validator(whole).is_valid(message)


def test_what_the_types_write_keeps_to_it():
    body = encode_body(ValueEntered(record=1, operator="KL", utc_ns=5, what="turbidity", value=1.0))
    assert valid(json.loads(body), "Record")
    message = {"before": "", "previous": "", "link": "0" * 64, "body": body.decode()}
    assert valid(message, "ramphold.record.v1")
    assert RecordMessage(**message)


@pytest.mark.parametrize("broken", [{"series": 1}, {"series": "0" * 32, "colour": 1}, {}])
def test_what_the_types_refuse_does_not(broken):
    assert not valid(broken, "ramphold.receipt.v1")
    assert valid({"series": Receipt(series="0" * 32).series}, "ramphold.receipt.v1")
