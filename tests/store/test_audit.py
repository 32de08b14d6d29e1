"""A record edited behind the program's back is found, whatever rules were taken away for it."""
# ruff: noqa: S608 - the statements are this file's own

import json
import sqlite3

import pytest

from ramphold.core import EndRun, RunPlan, Tracker
from ramphold.core.trace import Trace
from ramphold.sample import MassTaken, PersonAdded
from ramphold.store import Store
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import encode_body, link
from ramphold.wire.packed_trace import pack_trace
from support.specimens import add_specimen
from support.tampering import received, tamper

PLAN = RunPlan(target_psi=4000)
RUN_COLUMNS = (
    "specimen, operator, plan, state, reason, started_t_ns, started_utc_ns, ended_t_ns, "
    "ended_utc_ns, assessment"
)


@pytest.fixture
def kept(path, add_mass):
    """A database with two samples, a specimen of each, masses, a packed run and one in rows."""
    with Store.open(path) as store:
        for number, label in ((1, "26-0417"), (2, "26-0418")):
            store.samples.add(received(label))
            add_specimen(store, utc_ns=2, sample=number)
            add_mass(
                store, specimen=number, mass_g=39.52,
                line=b"S S     39.520 g", t_ns=3, utc_ns=3, operator="KL",
            )  # fmt: skip
            crush(store, number)
            store.runs.pack() if number == 1 else None
    return path


def crush(store, specimen):
    tracker = Tracker(PLAN, t_ns=0)
    run = store.runs.begin(specimen=specimen, operator="KL", plan=PLAN, t_ns=0, utc_ns=4)
    readings = drawn(GOOD_RUN, per_s=1)[:40]
    events = [event for one in readings for event in tracker.feed(one)]
    events += tracker.command(EndRun(reason="enough"), 50_000_000_000)
    store.runs.end(run, readings=readings, events=events, assessment=tracker.assess(), utc_ns=5)


def findings(path):
    with Store.read(path) as store:
        return list(store.audit().findings())


def test_what_nobody_touched_has_no_findings(kept):
    with Store.read(kept) as store:
        audit = store.audit()
        assert list(audit.findings()) == []
        assert audit.records == 8
        assert {sample: chain.records for sample, chain in audit.chains.items()} == {1: 4, 2: 4}
        assert audit.chains[1] == store.records.chain(1)
        assert audit.links[audit.chains[2].sha256] == 8
        assert (audit.runs, audit.laboratory_number(2)) == (2, "26-0418")
        assert audit.laboratory_number(3) == ""


def test_the_traces_of_a_sample_are_there_once_it_was_looked_at_and_no_others(kept):
    with Store.read(kept) as store:
        audit = store.audit()
        assert list(audit.findings_of(2)) == []
        assert audit.traces == {2: store.runs.trace(2)}
        whole = store.audit()
        assert list(whole.findings()) == []
        assert whole.traces == {}


def test_packing_is_no_edit(kept):
    with Store.open(kept) as store:
        assert store.runs.pack() == (2,)
    assert findings(kept) == []


def test_an_edited_mass_is_found(kept):
    tamper(kept, "UPDATE records SET body = replace(body, '39.52', '39.25') WHERE id = 3")
    assert findings(kept) == [
        "record 3 of sample 1 does not follow from record 2: one of the two was changed"
    ]


def test_a_mass_edited_with_its_link_is_found_by_the_record_after_it(kept):
    connection = sqlite3.connect(kept)
    ((before,),) = connection.execute("SELECT link FROM records WHERE id = 2")
    ((body,),) = connection.execute("SELECT body FROM records WHERE id = 3")
    connection.close()
    forged = body.replace("39.52", "39.25")
    hashed = link(before, forged.encode())
    tamper(kept, ("UPDATE records SET body = ?, link = ? WHERE id = 3", (forged, hashed)))
    assert findings(kept) == [
        "record 4 of sample 1 does not follow from record 3: one of the two was changed"
    ]


def test_a_forger_of_every_link_still_loses_the_one_that_the_report_prints(kept):
    with Store.read(kept) as store:
        printed = store.records.chain(1).sha256
    connection = sqlite3.connect(kept)
    bodies = connection.execute("SELECT id, body FROM records WHERE sample = 1 ORDER BY id")
    before, changes = "", []
    for number, body in bodies.fetchall():
        forged = body.replace("39.52", "39.25")
        before = link(before, forged.encode())
        changes.append(("UPDATE records SET body = ?, link = ? WHERE id = ?",
                        (forged, before, number)))  # fmt: skip
    connection.close()
    tamper(kept, *changes)
    with Store.read(kept) as store:
        audit = store.audit()
        assert list(audit.findings()) == []
        assert printed not in audit.links


def test_a_deleted_record_leaves_a_gap_in_the_numbering(kept):
    tamper(kept, "DELETE FROM records WHERE id = 3")
    assert findings(kept)[0] == "records 3 to 3 are missing"


def test_a_record_put_in_with_a_number_of_its_own_is_found(kept):
    forged = MassTaken(
        record=9, sample=1, operator="KL", utc_ns=9, test="crush", item="pan", load="tare",
        specimen=1, mass_g=1.0, t_ns=1,
    )  # fmt: skip
    text = encode_body(forged).decode()
    tamper(kept, ("INSERT INTO records (id, body, link) VALUES (9, ?, ?)", (text, "0" * 64)))
    assert len(findings(kept)) == 1
    assert "record 9 of sample 1 does not follow" in findings(kept)[0]


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE records SET body = replace(body, '26-0417', '26-9') WHERE id = 1",
         "record 1 of sample 1 does not follow from record 0: one of the two was changed"),
        ("UPDATE records SET body = replace(body, '4000', '5000') WHERE id = 6",
         "record 6 of sample 2 does not follow from record 5: one of the two was changed"),
        ("UPDATE records SET body = replace(body, '\"sample\":2', '\"sample\":null') WHERE id = 6",
         "record 6 of the bench does not follow from record 0: one of the two was changed"),
        ("UPDATE runs SET state = 'complete' WHERE id = 2",
         "runs: the row of number 2 is not what its record says"),
        ("UPDATE runs SET plan = replace(plan, '4000', '5000') WHERE id = 2",
         "run 2: plan, commands, events or assessment were changed"),
        ("UPDATE runs SET started_t_ns = 7 WHERE id = 2",
         "run 2: plan, commands, events or assessment were changed"),
        ("UPDATE runs SET assessment = NULL WHERE id = 2",
         "run 2: plan, commands, events or assessment were changed"),
        ("UPDATE events SET t_ns = t_ns + 1 WHERE run = 2 AND seq = 0",
         "run 2: plan, commands, events or assessment were changed"),
        ("DELETE FROM events WHERE run = 1 AND seq = 0",
         "run 1: plan, commands, events or assessment were changed"),
        ("UPDATE readings SET raw = raw + 1 WHERE run = 2 AND seq = 10",
         "run 2: its readings are not those that were recorded"),
        ("UPDATE readings SET t_ns = t_ns + 1 WHERE run = 2 AND seq = 39",
         "run 2: its readings are not those that were recorded"),
        ("DELETE FROM readings WHERE run = 2 AND seq = 39",
         "run 2: its readings are not those that were recorded"),
        ("DELETE FROM traces WHERE run = 1",
         "run 1: its readings are not those that were recorded"),
        ("INSERT INTO runs SELECT 3, " + RUN_COLUMNS + " FROM runs WHERE id = 2",
         "runs: number 3 has a row, and no record"),
    ],
)  # fmt: skip
def test_any_row_that_is_not_what_its_record_says_is_found(kept, statement, told):
    tamper(kept, statement)
    assert told in findings(kept)


def test_a_trace_that_was_packed_anew_from_other_readings_is_found(kept):
    with Store.read(kept) as store:
        short = pack_trace(Trace.of(store.runs.readings(1)[:-1]))
    tamper(kept, ("UPDATE traces SET packed = ? WHERE run = 1", (short,)))
    assert findings(kept) == ["run 1: its readings are not those that were recorded"]


def test_a_damaged_trace_is_found(kept):
    tamper(kept, "UPDATE traces SET packed = x'00' WHERE run = 1")
    assert len(findings(kept)) == 1
    assert findings(kept)[0].startswith("run 1: its trace can't be read: not a packed trace")


def test_rules_that_were_taken_away_are_named(kept):
    tamper(kept, rules=False)
    assert "the rule records_update of the database was removed" in findings(kept)


def test_a_rule_that_was_put_back_in_other_words_is_named(kept):
    connection = sqlite3.connect(kept)
    ((sql,),) = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'records_update'")
    connection.execute("DROP TRIGGER records_update")
    connection.execute(sql.replace("TRUE", "FALSE"))
    connection.commit()
    connection.close()
    assert findings(kept) == ["the rule records_update of the database was changed"]


def test_a_run_whose_row_was_deleted_is_named(kept):
    # Fault: the audit itself failed on it.
    tamper(kept, "DELETE FROM runs WHERE id = 2")
    told = "runs: number 2 is recorded, and its row is missing"
    assert findings(kept) == [told]
    with Store.read(kept) as store:
        assert list(store.audit().findings_of(2)) == [told]


def test_who_signs_is_read_for_a_sample_too_and_what_of_it_can_not_be_is_named(path):
    with Store.open(path) as store:
        store.records.append(PersonAdded(
            operator="AB", utc_ns=1, initials="AB", name="Anna Berg", function="analyst",
            key="aa" * 32,
        ))  # fmt: skip
        store.samples.add(received("26-0417"))
    with Store.read(path) as store:
        audit = store.audit()
        list(audit.findings_of(1))
        assert [one.added.initials for one in audit.people.all] == ["AB"]
    tamper(path, "UPDATE records SET body = replace(body, '\"Anna Berg\"', '7') WHERE id = 1")
    with Store.read(path) as store:
        (first, *_) = store.audit().findings_of(1)
    assert first.startswith("record 1 can't be read: ")


def test_a_record_of_unknown_content_is_found(kept):
    body = json.dumps({"record": 4, "kind": "lunch", "sample": 1})
    tamper(kept, ("UPDATE records SET body = ? WHERE id = 4", (body,)))
    assert findings(kept)[0].startswith("record 4 can't be read")


def test_a_run_that_goes_on_is_no_finding(kept):
    with Store.open(kept) as store:
        run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=4)
        store.runs.append(run, readings=drawn(GOOD_RUN, per_s=1)[:5])
        assert findings(kept) == []


def test_what_is_read_is_as_it_stood_at_one_moment(kept):
    with Store.open(kept) as store, Store.read(kept) as reader:
        with reader.snapshot():
            assert len(reader.samples.page(None, 9)) == 2
            store.samples.add(received("26-0419"))
            crush(store, 1)
            assert len(reader.samples.page(None, 9)) == 2
            assert list(reader.audit().findings()) == []
        assert len(reader.samples.page(None, 9)) == 3
