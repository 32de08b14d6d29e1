"""How an act becomes a record: built from its parameters, checked, added to its chain."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from msgspec import Struct, structs

from ramphold.control.act import Act
from ramphold.errors import CommandRefused
from ramphold.keys.person_key import OpenedKey
from ramphold.sample import (
    BaseRecord,
    MassTaken,
    People,
    Record,
    SampleReceived,
    SampleRecord,
    SignedRecord,
    SpecimenAdded,
    kind_name,
)
from ramphold.store import Store
from ramphold.wire import RunRecord

P = TypeVar("P", bound=Struct)
K = TypeVar("K", bound=BaseRecord)
G = TypeVar("G", bound=SignedRecord)

# Records that the store numbers, or checks beside those that stand.
_ADDED_BY: Mapping[type[BaseRecord], Callable[[Store, Any], Any]] = {
    SampleReceived: lambda store, record: store.samples.add(record),
    SpecimenAdded: lambda store, record: store.specimens.add(record),
    MassTaken: lambda store, record: store.masses.take(record),
}


class StoreLedger:
    """What the store has recorded so far, as the checks of an act read it."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def sheet(self, sample: int | None) -> SampleRecord:
        """A whole sample, worked out."""
        return self._store.samples.record(sample or 0)

    def records(self, sample: int | None) -> Sequence[Record]:
        """The records of a sample, or of the bench itself, in the order they were written."""
        return self._store.records.of_sample(sample)

    def records_of_specimen(self, specimen: int) -> Sequence[Record]:
        """The records that name a specimen, in the order they were written."""
        return self._store.records.of_specimen(specimen)

    def people(self) -> People:
        """Who signs at this bench, or has signed."""
        return self._store.records.people()

    def runs_of(self, specimen: int) -> Sequence[RunRecord]:
        """The runs of a specimen, in the order they were made."""
        return self._store.runs.of_specimen(specimen)


def keep(
    store: Store,
    act: Act[P, K],
    params: P,
    utc_ns: int,
    *,
    signer: OpenedKey | None = None,
    **worked_out: object,
) -> K:
    """Add the record that comes of an act.

    Args:
        store: where it is added.
        act: what is done.
        params: its parameters.
        utc_ns: when, UTC in ns.
        signer: the person who signs the record; None for initials alone.
        worked_out: fields of the record that do not come from the parameters.

    Raises:
        CommandRefused: the act may not be done now.
        InputError: there is no such sample or specimen, or a parameter can't be right.
    """
    worked_out = {"sample": chain_of(store, params), "utc_ns": utc_ns} | worked_out
    record = act.record(params, **worked_out)
    ledger = StoreLedger(store)
    for check in act.checks:
        check(record, ledger)
    if (add := _ADDED_BY.get(act.result)) is not None:
        added: K = add(store, record)
        return added
    if isinstance(record, SignedRecord):
        return _sign(store, record, signer)
    return store.records.append(record)


def _sign(store: Store, record: G, signer: OpenedKey | None) -> G:
    """Add a record that a person signs, where people sign at the bench."""
    wanted = structs.replace(record, signed=signer.unsigned if signer else None)
    if fault := store.records.people().fault(wanted):
        raise CommandRefused(f"this {kind_name(type(record))} {fault}")
    if signer is None:
        return store.records.append(record)
    return store.records.append_signed(record, signer)


def chain_of(store: Store, params: Struct) -> int | None:
    """The number of the sample that parameters are about; None for the bench itself.

    Raises:
        CommandRefused: the specimen is not one of the sample.
        InputError: there is no such sample or specimen.
    """
    key, specimen = getattr(params, "sample", None), getattr(params, "specimen", None)
    sample = None if key is None else store.samples.number(key)
    if specimen is None:
        return sample
    own = store.specimens.one(specimen).sample
    if sample not in (None, own):
        raise CommandRefused(f"specimen {specimen} is not one of that sample")
    return own
