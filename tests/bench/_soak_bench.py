"""One bench of the soak: real store, real publisher, and runs as fast as they can be written.

Killed at any moment, it goes on where its database says that it was.
"""

import asyncio
import contextlib
import logging
import random
import signal
import sys
from dataclasses import replace
from pathlib import Path

from msgspec import structs

from ramphold.clock import SystemClock
from ramphold.core import RunPlan
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import load_config
from ramphold.method.gravimetric import Material
from ramphold.publish.publisher import Publisher
from ramphold.sample import CRUSH, Load, MassTaken, SampleReceived
from ramphold.testing.runs import GOOD_RUN, drawn, fed
from ramphold.wire import StateMessage
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)
PER_S, EVERY_S = int(sys.argv[4]), float(sys.argv[5])
READINGS = [
    structs.replace(one, raw=round(one.force_lbf), force_lbf=float(round(one.force_lbf)))
    for one in drawn(GOOD_RUN, per_s=PER_S)
]
TRACKER, EVENTS = fed(PLAN, READINGS)
ASSESSMENT = TRACKER.assess()
PER_SAMPLE = 20


async def main():
    """Write runs and publish them; stay until told to go."""
    logging.basicConfig(format="%(asctime)s %(message)s")
    path, runs, rng = Path(sys.argv[1]), int(sys.argv[2]), random.Random(sys.argv[3])
    config, gone = load_config(path), asyncio.Event()
    asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, gone.set)
    store = await StoreThread.open(Path(config.store.path), lambda _: publisher.wake())
    publisher = Publisher(
        config.bench, config.publish, store, SystemClock(), lambda: StateMessage(online=True)
    )
    sending = asyncio.create_task(publisher.run())
    while not gone.is_set() and await store.run(lambda store: work(store, config.bench, rng, runs)):
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(gone.wait(), EVERY_S)
    await gone.wait()
    sending.cancel()
    await asyncio.wait([sending])
    await store.aclose()


def work(store, name, rng, runs):
    """One step of a bench's work; False once it has that many runs."""
    ((done, samples),) = store._connection.rows(
        "SELECT (SELECT count(*) FROM runs), (SELECT count(*) FROM record_sample)"
    )
    if done >= runs:
        return False
    if samples * PER_SAMPLE <= done:
        store.samples.add(
            SampleReceived(
                operator="KL", utc_ns=done, laboratory_number=f"{name}-{samples}",
                client_reference="pit 3", material=Material.SAND, size="20/40",
                edition="ISO 13503-2:2024",
            )
        )  # fmt: skip
        samples += 1
    specimen = add_specimen(store, utc_ns=done, sample=samples).specimen
    weigh(store, samples, specimen, ("charge", Load.NET), 39.52)
    crush(store, specimen, rng)
    weigh(store, samples, specimen, ("pan", Load.TARE), 112.4)
    weigh(store, samples, specimen, ("pan", Load.GROSS), 114.0 + rng.random())
    return True


def weigh(store, sample, specimen, place, mass_g):
    item, load = place
    store.masses.take(
        MassTaken(
            sample=sample, operator="KL", utc_ns=2, test=CRUSH, item=item, load=load,
            specimen=specimen, mass_g=round(mass_g, 3), line=b"S S     39.520 g", t_ns=1,
        )
    )  # fmt: skip


def crush(store, specimen, rng):
    """A run of which no two are alike, in two commits so that a kill may fall between them."""
    shift_ns = rng.randrange(10**9)
    readings = [structs.replace(one, t_ns=one.t_ns + shift_ns) for one in READINGS]
    half = len(readings) // 2
    run = store.runs.begin(
        specimen=specimen, operator="KL", plan=PLAN, t_ns=shift_ns, utc_ns=rng.randrange(10**18)
    )
    store.runs.append(run, readings=readings[:half])
    store.runs.end(
        run, readings=readings[half:], events=[shifted(one, shift_ns) for one in EVENTS],
        assessment=ASSESSMENT, utc_ns=2 * 10**18,
    )  # fmt: skip
    store.runs.pack()


def shifted(event, by_ns):
    times = [name for name in ("t_ns", "since_ns") if hasattr(event, name)]
    return replace(event, **{name: getattr(event, name) + by_ns for name in times})


if __name__ == "__main__":
    asyncio.run(main())
