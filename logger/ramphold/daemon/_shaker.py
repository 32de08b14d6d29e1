"""The shaker: started, still running, taken off. Its times follow from the records.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from msgspec import UNSET

from ramphold.control.act import NoParams
from ramphold.control.shaker_methods import (
    END_SHAKING,
    START_SHAKING,
    EndShakingParams,
    ShakingNow,
    Shakings,
    StartShakingParams,
)
from ramphold.daemon._ledger import chain_of, keep
from ramphold.errors import CommandRefused, InputError
from ramphold.method.editions import CURRENT, EDITIONS
from ramphold.sample import BaseRecord, Shaking, ShakingEnded, ShakingStarted
from ramphold.store import Store


def shakings(store: Store, _: NoParams, utc_ns: int) -> Shakings:
    """Everything that nobody has taken off the shaker yet."""
    return Shakings(shakings=tuple(_now(store, one, utc_ns) for one in store.bench.shakings()))


def start_shaking(store: Store, params: StartShakingParams, utc_ns: int) -> ShakingStarted:
    """Start the shaker, for the time of the edition where none is given.

    Raises:
        InputError: no such sample or specimen, or neither or both of them.
    """
    if (params.sample is None) == (params.specimen is None):
        raise InputError("the shaker runs for a sample or for a specimen: expected one of them")
    sample = chain_of(store, params)
    edition = EDITIONS[CURRENT] if sample is None else store.samples.record(sample).edition
    planned_s = params.planned_s or edition.sieve_s
    return keep(store, START_SHAKING, params, utc_ns, planned_s=planned_s)


def end_shaking(store: Store, params: EndShakingParams, utc_ns: int) -> ShakingEnded:
    """Record that something was taken off, before its time was up or after.

    Raises:
        CommandRefused: it is not on the shaker any more, or never was.
    """
    for one in store.bench.shakings():
        if (started := one.started).record == params.shaking:
            return keep(
                store,
                END_SHAKING,
                params,
                utc_ns,
                sample=started.sample,
                specimen=started.specimen,
            )
    raise CommandRefused(f"nothing that record {params.shaking} put there is on the shaker")


def _now(store: Store, shaking: Shaking, utc_ns: int) -> ShakingNow:
    started = shaking.started
    sample, specimen = started.sample, started.specimen
    return ShakingNow(
        shaking=started.record,
        sample=sample,
        laboratory_number=None
        if sample is None
        else store.samples.received(sample).laboratory_number,
        specimen=specimen,
        label=None if specimen is None else store.specimens.one(specimen).label,
        operator=started.operator,
        planned_s=started.planned_s,
        to_go_s=shaking.to_go_s(_at(store, utc_ns)),
    )


def _at(store: Store, utc_ns: int) -> BaseRecord:
    """This moment, with the time of the boot as a record would have it."""
    return BaseRecord(operator="", utc_ns=utc_ns, clock=store.records.stamp() or UNSET)
