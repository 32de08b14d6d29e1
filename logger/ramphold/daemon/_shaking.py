"""The shaker: put on, how long still, taken off. The times stand in the records.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from ramphold.control import sample_methods as methods
from ramphold.control.methods import NoParams
from ramphold.control.screen_methods import EndShaking, ShakingNow, Shakings
from ramphold.errors import CommandRefused, InputError
from ramphold.method.editions import CURRENT
from ramphold.sample import Shaking, ShakingEnded, ShakingStarted
from ramphold.store import Store

__all__ = ["end_shaking", "shakings", "start_shaking"]


def start_shaking(store: Store, wanted: methods.StartShaking, utc_ns: int) -> ShakingStarted:
    """The shaker runs, for as long as the edition says where no time is given.

    Raises:
        InputError: no such sample or specimen, or neither or both of them.
    """
    if (wanted.sample is None) == (wanted.specimen is None):
        raise InputError("the shaker runs for a sample or for a specimen: expected one of them")
    if wanted.specimen is not None:
        sample = store.specimens.one(wanted.specimen).sample
    else:
        sample = store.samples.number(wanted.sample or 0)
    edition = CURRENT if sample is None else store.samples.record(sample).edition
    return store.records.append(
        ShakingStarted(
            sample=sample,
            operator=wanted.operator,
            utc_ns=utc_ns,
            specimen=wanted.specimen,
            planned_s=wanted.planned_s or edition.sieve_s,
        )
    )


def shakings(store: Store, wanted: NoParams, utc_ns: int) -> Shakings:
    """All that nobody took off yet."""
    del wanted
    return Shakings(shakings=tuple(_now(store, one, utc_ns) for one in store.bench.shakings()))


def end_shaking(store: Store, wanted: EndShaking, utc_ns: int) -> ShakingEnded:
    """Keep that it was taken off, before its time was up or after.

    Raises:
        CommandRefused: it is not on the shaker any more, or never was.
    """
    for one in store.bench.shakings():
        if one.started.record == wanted.shaking:
            return store.records.append(
                ShakingEnded(
                    sample=one.started.sample,
                    operator=wanted.operator,
                    utc_ns=utc_ns,
                    specimen=one.started.specimen,
                    shaking=wanted.shaking,
                )
            )
    raise CommandRefused(f"nothing that record {wanted.shaking} put there is on the shaker")


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
        to_go_s=(shaking.planned_end_utc_ns - utc_ns) / 1e9,
    )
