"""What a person decides: who is left out, which run counts, that it was reviewed, that it is out.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from ramphold.control import sample_methods as methods
from ramphold.core import RunState
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import (
    ExclusionDecided,
    ReportIssued,
    Reviewed,
    RunDecided,
    SampleState,
    check_review,
)
from ramphold.store import Store

__all__ = ["decide_exclusion", "decide_run", "issue_report", "review"]


def decide_exclusion(
    store: Store, wanted: methods.DecideExclusion, utc_ns: int
) -> ExclusionDecided:
    """Leave a specimen out of the result, or take it in again.

    Raises:
        CommandRefused: it is so already.
        InputError: there is no such specimen.
    """
    sample = store.specimens.one(wanted.specimen).sample
    before = [
        one
        for one in store.records.of_specimen(wanted.specimen)
        if isinstance(one, ExclusionDecided)
    ]
    if wanted.excluded == bool(before and before[-1].excluded):
        how = "left out already" if wanted.excluded else "not left out"
        raise CommandRefused(f"specimen {wanted.specimen} is {how}")
    return store.records.append(
        ExclusionDecided(
            sample=sample,
            operator=wanted.operator,
            utc_ns=utc_ns,
            specimen=wanted.specimen,
            excluded=wanted.excluded,
            reason=wanted.reason,
        )
    )


def decide_run(store: Store, wanted: methods.DecideRun, utc_ns: int) -> RunDecided:
    """Decide whether a run counts whatever its assessment says.

    Raises:
        CommandRefused: it goes on, was interrupted, or is not the specimen's last.
        InputError: there is no such run.
    """
    run = store.runs.one(wanted.run)
    last = store.runs.of_specimen(run.specimen)[-1].id
    if run.ended_t_ns is None:
        raise CommandRefused(f"run {run.id} goes on: decide when it has ended")
    if run.state is RunState.INTERRUPTED:
        raise CommandRefused(f"run {run.id} was interrupted: nobody saw its end, it never counts")
    if run.id != last:
        raise CommandRefused(f"run {run.id} is not judged: run {last} of its specimen is")
    return store.records.append(
        RunDecided(
            sample=store.specimens.one(run.specimen).sample,
            operator=wanted.operator,
            utc_ns=utc_ns,
            specimen=run.specimen,
            run=run.id,
            counts=wanted.counts,
            reason=wanted.reason,
        )
    )


def review(store: Store, wanted: methods.Review, utc_ns: int) -> Reviewed:
    """Keep that a sample was looked over by somebody who wrote nothing of it.

    Raises:
        CommandRefused: he did, or there is nothing to look over.
        InputError: there is no such sample.
    """
    sample = store.samples.number(wanted.sample)
    check_review(store.records.of_sample(sample), wanted.operator)
    return store.records.append(
        Reviewed(sample=sample, operator=wanted.operator, utc_ns=utc_ns, remarks=wanted.remarks)
    )


def issue_report(store: Store, wanted: methods.IssueReport, utc_ns: int) -> ReportIssued:
    """Keep that a report goes out, as the next revision.

    Raises:
        CommandRefused: the sample was not reviewed as it stands.
        InputError: there is no such sample, or a later revision that does not say what changed.
    """
    record = store.samples.record(store.samples.number(wanted.sample))
    if record.state is not SampleState.REVIEWED:
        raise CommandRefused(
            f"sample {record.sample.laboratory_number} is {record.state}: have it reviewed first"
        )
    revision = len(record.reports) + 1
    if revision > 1 and not wanted.changes.strip():
        raise InputError(f"revision {revision} supersedes another: expected what changed")
    return store.records.append(
        ReportIssued(
            sample=record.sample.sample,
            operator=wanted.operator,
            utc_ns=utc_ns,
            revision=revision,
            changes=wanted.changes,
            sha256=wanted.sha256,
        )
    )
