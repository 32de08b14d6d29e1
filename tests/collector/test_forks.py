"""What was filed is never put out of force by what arrives; a person decides."""
# ruff: noqa: PLR0913, PLR0917 - an archive, what arrives, and who decides

import re

import pytest
from msgspec import structs

from ramphold.collector._archive_writing import file_records
from ramphold.collector._filed_trees import FiledTrees
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive_status import collect_status
from ramphold.collector.archived_sample import find_sample
from ramphold.collector.forks import decide, decisions, disputes
from ramphold.errors import InputError
from ramphold.keys.ed25519 import SigningKey, is_signed
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.keys.signed_head import sign_head
from support.forging import retold

LATER = 2_000_000_000_000_000_000
A, B, C = "a" * 32, "b" * 32, "c" * 32


@pytest.fixture
def collect(archive):
    def collected(arrived, utc_ns=LATER):
        with archive.transaction():
            file_records(archive.database, arrived, utc_ns)
        while work_out(archive):
            pass

    return collected


@pytest.fixture
def person():
    key = SigningKey.generate()
    return OpenedKey(Signer(initials="MB", name="M. Brandt", function="head", key=key.public,
                            added_utc_ns=1), key)  # fmt: skip


def lighter(body):
    """Six pan masses of the second stress made lighter, as in a forged class."""
    if '"load":"gross"' in body and '"item":"pan"' in body and '"test":"crush"' in body:
        return re.sub(r'"mass_g":(\d+)\.\d+', lambda found: f'"mass_g":{found[1]}.0', body)
    return body


def last_by_another(records):
    """The newest record, of the last control sample, told as somebody else's."""

    def edit(body):
        return body.replace('"MB"', '"XY"') if f'"record":{len(records)},' in body else body

    return edit


def standing(archive):
    return {one.series: one.standing for one in archive.benches()}


def classes(look):
    return look(
        "SELECT series, crush_class, disputed FROM classes WHERE laboratory_number = '26-0417' "
        "ORDER BY series"
    )


def test_a_forged_numbering_stands_beside_what_was_filed_and_changes_no_result(
    archive, records, look, collect
):
    collect(records)
    before = classes(look)
    collect(retold(records, lighter), LATER + 10**9)
    assert standing(archive) == {A: "in force", B: "disputed"}
    assert before[0] in classes(look)
    assert [(series, disputed) for series, _, disputed in classes(look)] == [
        (A, ""), (B, "disputed"),
    ]  # fmt: skip
    assert find_sample(archive, "26-0417").series == A
    assert not collect_status(archive).well


@pytest.mark.parametrize("view", ["samples", "stresses", "specimens", "fines", "runs", "classes"])
def test_every_view_says_which_samples_are_disputed(archive, records, look, collect, view):
    assert standing(archive) == {}
    collect(records)
    collect(retold(records, lighter), LATER + 10**9)
    rows = look(f"SELECT DISTINCT series, disputed FROM {view} ORDER BY 1")  # noqa: S608
    assert rows == [(A, ""), (B, "disputed")]


def test_samples_that_both_tell_alike_are_shown_once(records, look, collect):
    collect(records)
    collect(retold(records, last_by_another(records)), LATER + 10**9)
    shown = look("SELECT laboratory_number, disputed FROM samples ORDER BY 1, 2")
    assert ("26-0417", "") in shown
    assert ("26-0417", "disputed") not in shown
    assert [one for one in shown if one[1]] == [("C-2", "disputed")]


def test_a_numbering_that_agrees_goes_on_by_itself_once_it_has_told_all(archive, records, collect):
    collect(records[:-5])
    anew = retold(records, lambda body: body)
    collect(anew[:20], LATER + 10**9)
    assert standing(archive) == {A: "in force", B: "behind"}
    collect(anew[20:], LATER + 2 * 10**9)
    assert standing(archive) == {A: "replaced", B: "in force"}
    assert collect_status(archive).well


def test_the_old_one_comes_back_where_it_tells_something_else_later(archive, records, collect):
    collect(records[:-1])
    collect(retold(records, lambda body: body), LATER + 10**9)
    assert standing(archive) == {A: "replaced", B: "in force"}
    (last,) = retold(records, last_by_another(records), series=A)[-1:]
    message = structs.replace(last.message, before=records[-2].message.link)
    own = structs.replace(last, message=message)
    collect([own], LATER + 2 * 10**9)
    assert standing(archive) == {A: "in force", B: "disputed"}


@pytest.mark.parametrize("count", [1, 40, None])
def test_another_bench_that_sends_a_benchs_records_hides_nothing(
    archive, records, look, collect, count
):
    collect(records)
    shown = look("SELECT bench, laboratory_number, crush_class FROM samples ORDER BY 2")
    claimed = retold(records[:count], lambda body: body, bench="p2")
    collect(claimed, LATER + 10**9)
    assert standing(archive) == {A: "in force", B: "disputed"}
    assert look("SELECT bench, laboratory_number, crush_class FROM samples "
                "WHERE disputed = '' ORDER BY 2") == shown  # fmt: skip
    status = collect_status(archive)
    assert not status.well
    (dispute,) = status.disputes
    assert (dispute.record, dispute.arrived.bench, dispute.filed.bench) == (None, "p2", "p1")


def test_both_stories_of_a_dispute_are_told(archive, records, collect):
    collect(records)
    collect(retold(records, lighter), LATER + 10**9)
    (dispute,) = disputes(archive)
    first = next(one.number for one in records if lighter(one.message.body) != one.message.body)
    assert dispute.record == first
    assert dispute.filed.body == records[first - 1].message.body
    assert dispute.arrived.body == lighter(dispute.filed.body)
    assert dispute.samples == ["26-0417", "C-1", "C-2"]


@pytest.mark.parametrize(
    ("verdict", "after"),
    [("filed", {A: "in force", B: "void"}), ("arrived", {A: "replaced", B: "in force"}),
     ("both", {A: "in force", B: "in force"})],
)  # fmt: skip
def test_a_persons_decision_settles_it_is_signed_and_kept(
    archive, records, collect, person, verdict, after
):
    collect(records)
    forged = retold(records, lighter)
    collect(forged[:-3], LATER + 10**9)
    done = decide(archive, B[:8], verdict, "the card was\nrestored", by=person, utc_ns=7)
    assert standing(archive) == after
    assert collect_status(archive).well
    assert decisions(archive) == [done]
    assert is_signed(person.person.key, done.signature, done.statement.encode())
    lines = done.statement.splitlines()
    assert lines[0] == "ramphold decision 1"
    assert f"verdict {verdict}" in lines
    assert "reason the card was restored" in lines
    assert "by MB, M. Brandt, head" in lines
    # What comes later in the same series changes nothing of it.
    collect(forged[-3:], LATER + 2 * 10**9)
    assert standing(archive) == after
    with pytest.raises(InputError, match="expected the name of one disputed series: none"):
        decide(archive, B, verdict, "again", by=person, utc_ns=8)


def test_a_decision_counts_for_its_series_alone(archive, records, collect, person):
    collect(records)
    collect(retold(records, lighter), LATER + 10**9)
    decide(archive, B, "filed", "forged", by=person, utc_ns=7)
    collect(retold(records, lighter, series=C), LATER + 2 * 10**9)
    assert standing(archive) == {A: "in force", B: "void", C: "disputed"}


@pytest.mark.parametrize(
    ("typed", "verdict", "reason"),
    [("b", "both", "x"), ("c" * 8, "both", "x"), (B, "neither", "x"), (B, "both", " ")],
)
def test_a_decision_that_is_none_is_refused(
    archive, records, collect, person, typed, verdict, reason
):
    collect(records)
    collect(retold(records, lighter), LATER + 10**9)
    with pytest.raises(InputError, match="expected"):
        decide(archive, typed, verdict, reason, by=person, utc_ns=7)
    assert standing(archive)[B] == "disputed"


def test_a_bench_that_its_key_shows_to_be_the_same_goes_on_under_another_name(
    archive, records, collect
):
    key = SigningKey.generate()
    root = MerkleTree.of(one.message.link for one in records).root()
    head = sign_head(key, "head", len(records), root, 5)
    trees = FiledTrees(None)

    def sign(bench, series, by=head):
        with archive.transaction():
            trees.take(archive.database, bench, series, by, LATER)

    collect(records)
    sign("p1", A)
    collect(retold(records, lambda body: body, bench="p9"), LATER + 10**9)
    sign("p9", B, sign_head(SigningKey.generate(), "head", len(records), root, 5))
    assert standing(archive) == {A: "in force", B: "disputed"}
    sign("p9", B)
    assert standing(archive) == {A: "replaced", B: "in force"}


def test_the_database_itself_refuses_to_change_a_fork_or_a_decision(
    archive, records, collect, person
):
    collect(records)
    collect(retold(records, lighter), LATER + 10**9)
    decide(archive, B, "filed", "forged", by=person, utc_ns=7)
    for table in ("forks", "decisions"):
        with pytest.raises(ValueError, match="rows are only added"), archive.transaction():
            archive.database.write(f"DELETE FROM {table}")  # noqa: S608
