"""Writes into the bench's records which unusual values its configuration has, and why."""

from ramphold.clock import Clock
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BenchConfig
from ramphold.sample import UnusualValueKept, unusual_now
from ramphold.store import Store

# Nobody gives up a value: the configuration no longer has it.
_NOBODY = "-"


async def record_unusual_values(config: BenchConfig, store: StoreThread, clock: Clock) -> None:
    """Record each unusual value once, with its reason, and once that it is no longer used."""

    def record(store: Store) -> None:
        held = {one.key: one for one in unusual_now(store.bench.record().unusual)}
        for one in config.unusual:
            was = held.pop(one.key, None)
            made = UnusualValueKept(
                operator=one.by,
                utc_ns=clock.utc_ns(),
                key=one.key,
                value=one.value,
                reason=one.reason,
            )
            if was is None or _said(was) != _said(made):
                store.records.append(made)
        for gone in held.values():
            store.records.append(
                UnusualValueKept(
                    operator=_NOBODY,
                    utc_ns=clock.utc_ns(),
                    key=gone.key,
                    value=gone.value,
                    reason="no longer in the configuration",
                    in_use=False,
                )
            )

    await store.run(record)


def _said(one: UnusualValueKept) -> tuple[str, str, str]:
    return one.value, one.reason, one.operator
