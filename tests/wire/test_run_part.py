"""A part of a run as a line of a file: whole as it was, or not at all."""

import hashlib

import pytest

from ramphold.core import EndRun, RunPlan, Tracker
from ramphold.errors import WireError
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire.run_part import Counts, RunBegun, RunPart, decode_parts, encode_part

PLAN = RunPlan(target_psi=4000)
BEGUN = RunBegun(run=3, specimen=7, operator="KL", plan=PLAN, t_ns=11, utc_ns=12)


def parts():
    """The start of a run, and its end."""
    tracker, readings = Tracker(PLAN, t_ns=0), drawn(GOOD_RUN, per_s=1)[:20]
    events = [event for one in readings for event in tracker.feed(one)]
    ending, end_ns = EndRun(reason="enough"), 50_000_000_000
    more = tracker.command(ending, end_ns)
    return [
        RunPart(begun=BEGUN, first=Counts(), readings=readings, commands=[], events=events),
        RunPart(
            begun=BEGUN, first=Counts(20, 0, len(events)), readings=[],
            commands=[(20, end_ns, ending)], events=more, ended=(tracker.assess(), 99),
        ),
    ]  # fmt: skip


def test_parts_come_back_as_they_were():
    sent = parts()
    assert sent[0].events
    assert sent[1].events
    assert decode_parts(b"".join(map(encode_part, sent))) == (sent, 0)
    assert decode_parts(b"") == ([], 0)


def test_a_line_begins_with_the_hash_of_what_follows_it():
    line = encode_part(parts()[0])
    digest, _, text = line.removesuffix(b"\n").partition(b" ")
    assert hashlib.sha256(text).hexdigest() == digest.decode()


@pytest.mark.parametrize("cut", [1, 2, 100])
def test_a_line_that_was_cut_is_left_with_all_after_it(cut):
    first, last = map(encode_part, parts())
    assert decode_parts(first + last[:-cut]) == (parts()[:1], 1)


def test_a_changed_or_shortened_line_is_left_with_all_after_it():
    first, last = map(encode_part, parts())
    assert decode_parts(first[:-100] + b"\n" + last + last) == ([], 3)
    assert decode_parts(first + last.replace(b"enough", b"enouGh") + first) == (parts()[:1], 2)


@pytest.mark.parametrize("text", [b"{}", b"[]", b"\xff", b'{"run":3}'])
def test_a_whole_line_that_is_no_part_is_an_error(text):
    line = hashlib.sha256(text).hexdigest().encode() + b" " + text + b"\n"
    with pytest.raises(WireError, match="not a part of a run"):
        decode_parts(line)


def test_counts_are_added_and_taken_off_one_by_one():
    assert Counts(5, 3, 1).plus(Counts(10, 20, 30)) == (15, 23, 31)
    assert Counts(15, 23, 31).minus(Counts(10, 20, 30)) == (5, 3, 1)
