"""A record that crosses the wire is taken only if its hashes and its signature are right."""

import msgspec
import pytest
from msgspec import structs

from ramphold.core import Reading
from ramphold.core.trace import Trace
from ramphold.errors import WireError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.sample import Reviewed, RunFinished, ValueEntered
from ramphold.wire import (
    RecordMessage,
    RunMessage,
    RunRows,
    StateMessage,
    encode_body,
    link,
    signed,
)
from ramphold.wire.packed_trace import pack_trace, packed_sha256

TRACE = Trace.of([Reading(t_ns=n, force_lbf=float(n), raw=n, unit="lbf") for n in (1, 2, 3)])
OTHER = Trace.of([Reading(t_ns=1, force_lbf=1.0)] * 3)
ROWS = RunRows(plan="{}", started_t_ns=1, ended_t_ns=3)
RUN = RunFinished(
    record=9, sample=1, operator="KL", utc_ns=9, run=4, specimen=1, state="complete", reason="",
    started_utc_ns=1, ended_utc_ns=9, target_psi=4000.0, bore_in=2.0, rate_psi_min=2000.0,
    hold_s=120.0, ceiling_lbf=1.0, rating_lbf=1.0, band_pct=2.0, verdict="pass", readings=3,
    trace_sha256="", packed_sha256=packed_sha256(TRACE), record_sha256=ROWS.sha256(),
)  # fmt: skip
MESSAGE = RunMessage(rows=ROWS, trace=pack_trace(TRACE))
VALUE = ValueEntered(record=9, operator="KL", utc_ns=5, what="turbidity", value=41.0)
KEY = SigningKey.from_bytes(bytes(range(32)))
ANNA = OpenedKey(
    Signer(initials="AB", name="Anna Berg", function="analyst", key=KEY.public, added_utc_ns=1), KEY
)
REVIEW = signed(Reviewed(record=9, sample=1, operator="AB", utc_ns=5), "ab" * 32, ANNA)


def sent(record, run=None, previous="ab" * 32):
    body = encode_body(record)
    return RecordMessage(
        before="", previous=previous, link=link(previous, body), body=body.decode(), run=run
    )


@pytest.mark.parametrize(("record", "run"), [(VALUE, None), (REVIEW, None), (RUN, MESSAGE)])
def test_a_message_that_is_right_in_all_gives_its_record(record, run):
    assert sent(record, run).checked() == record


@pytest.mark.parametrize(
    ("message", "told"),
    [
        (structs.replace(sent(VALUE), link="0" * 64), "record 9: its link is not that of its text"),
        (structs.replace(sent(VALUE), previous=""), "record 9: its link is not that of its text"),
        (sent(structs.replace(REVIEW, remarks="badly done")), "record 9: it is not what Anna Berg"),
        (sent(REVIEW, previous="cd" * 32), "record 9: it is not what Anna Berg"),
        (sent(RUN), "record 9: a run's record comes with its run"),
        (sent(VALUE, MESSAGE), "record 9: a run's record comes with its run"),
        (
            sent(RUN, structs.replace(MESSAGE, trace=pack_trace(OTHER))),
            "run 4: its trace is not the one that was recorded",
        ),
        (sent(structs.replace(RUN, readings=2), MESSAGE), "a trace of 3 readings: expected 2"),
        (
            sent(RUN, structs.replace(MESSAGE, rows=structs.replace(ROWS, ended_t_ns=4))),
            "run 4: its rows are not those that were recorded",
        ),
    ],
)  # fmt: skip
def test_a_message_that_is_wrong_in_one_thing_says_in_which(message, told):
    with pytest.raises(WireError, match=told):
        message.checked()


def test_what_an_older_bench_leaves_out_of_its_state_is_nothing():
    state = msgspec.json.decode(b'{"online":true}', type=StateMessage)
    assert (state.version, state.newest, state.waiting, state.parked) == ("", 0, 0, 0)
    assert (state.run, state.troubles, state.trust) == (None, (), ())
