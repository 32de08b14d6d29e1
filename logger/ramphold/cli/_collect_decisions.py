"""What a person says to the archive: whose key it is, and which of two numberings stands."""

from pathlib import Path

from ramphold.cli._common import show
from ramphold.cli._pin import read_pin
from ramphold.clock import SystemClock, utc_text
from ramphold.collector.archive import open_archive
from ramphold.collector.bench_keys import accept_key
from ramphold.collector.config import CollectConfig, key_folder
from ramphold.collector.forks import Dispute, Story, decide
from ramphold.errors import InputError
from ramphold.keys.person_key import PersonKeys


def accept(config: CollectConfig, bench: str, typed: str, by: str, *, as_json: bool) -> None:
    """Accept a bench's key, and say so.

    Raises:
        InputError: nobody says so, or it is no key of the bench.
        StoreError: the archive cannot be used.
    """
    if not by.strip():
        raise InputError("--accept: expected --by NAME of the person who compared the fingerprints")
    with open_archive(config.archive) as archive:
        done = accept_key(archive, bench, typed, by.strip(), SystemClock().utc_ns())
    text = (
        f"{done.bench}: key {done.fingerprint} is accepted by {done.by}; "
        f"{done.records} records are vouched for"
    )
    show(done, text, as_json=as_json)


def decide_dispute(  # noqa: PLR0917 - the options of the command
    config: CollectConfig,
    series: str,
    verdict: str,
    by: str,
    reason: str,
    pin_file: Path | None,
    *,
    as_json: bool,
) -> None:
    """Decide a dispute in a person's name, signed, and say so.

    Raises:
        InputError: something is missing, or there is no such dispute.
        CommandRefused: the person cannot sign, or the PIN is wrong.
        StoreError: the archive cannot be used.
    """
    if not by.strip() or not reason.strip():
        raise InputError("--decide: expected --by INITIALS of a person with a key, and --reason")
    people = PersonKeys(key_folder(config).path)
    people.find(by)
    utc_ns = SystemClock().utc_ns()
    signer = people.open(by, read_pin(pin_file, by), utc_ns)
    with open_archive(config.archive) as archive:
        done = decide(archive, series, verdict, reason, by=signer, utc_ns=utc_ns)
    text = f"series {done.series[:8]}: {done.verdict}, signed by {signer.person.name}"
    show(done, text, as_json=as_json)


def dispute_text(one: Dispute) -> str:
    """Both stories of a dispute, and what to do."""
    arrived, filed = one.arrived, one.filed
    other = f"{filed.bench} {filed.series[:8]}"
    where = f"contradicts {other} from record {one.record} on"
    if not one.record:
        where = f"repeats the records of {other}, and nothing shows that it is that bench"
    lines = [f"DISPUTED  {arrived.bench} {arrived.series[:8]} {where}"]
    if one.record:
        lines += [f"  filed    {_story(filed)}", f"  arrived  {_story(arrived)}"]
    lines.append(f"  samples  {', '.join(one.samples) or 'none that differ'}")
    lines.append(
        f"  decide   ramphold collect --decide {arrived.series[:8]} filed|arrived|both "
        "--by INITIALS --reason TEXT"
    )
    return "\n".join(lines)


def _story(one: Story) -> str:
    return f"{one.kind} by {one.operator}, {utc_text(one.utc_ns)}: {one.body}"
