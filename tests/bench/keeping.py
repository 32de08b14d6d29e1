"""What a run costs of the database, and what a report and the worksheet cost.

`make bench-keeping`; a hundred thousand specimens take a minute to write.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import msgspec
from msgspec.structs import replace

from ramphold.control.sample_methods import SampleSheet
from ramphold.core import EndRun, RunPlan, Tracker
from ramphold.method.gravimetric import Material
from ramphold.sample import CRUSH, Load, MassTaken, SampleReceived, SpecimenAdded, next_steps
from ramphold.store import Store
from ramphold.testing.runs import GOOD_RUN, drawn, fed
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)
PER_SAMPLE = 20
RUNS = 10


def main():
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--specimens", type=int, default=100_000)
    specimens = parser.parse_args().specimens
    with tempfile.TemporaryDirectory() as folder:
        growth(Path(folder) / "runs.sqlite3")
        report(Path(folder))
        questions(Path(folder) / "full.sqlite3", specimens)


def growth(path):
    """Ten runs of 4 minutes at 80 readings/s, each packed before the next."""
    print("kind of load          readings  first run kB  mean of ten kB  written s  packed s")
    for kind, convert in (("text indicator", printed), ("noisy converter", counted)):
        path.unlink(missing_ok=True)
        sizes, written, packs = [], [], []
        with Store.open(path) as store:
            add_specimen(store)
        sizes.append(path.stat().st_size)
        for seed in range(RUNS):
            readings = convert(random.Random(seed))
            with Store.open(path) as store:
                written.append(timed(lambda: keep(store, readings)))  # noqa: B023
                packs.append(timed(store.runs.pack))
                assert store.runs.readings(seed + 1) == readings
            sizes.append(path.stat().st_size)
        mean = (sizes[-1] - sizes[0]) / RUNS / 1000
        print(
            f"{kind:<20}{len(readings):>10}{(sizes[1] - sizes[0]) / 1000:>14.0f}{mean:>16.0f}"
            f"{max(written):>11.2f}{max(packs):>10.2f}"
        )


def keep(store, readings):
    """A run written second by second, as the daemon does."""
    tracker = Tracker(PLAN, t_ns=0)
    run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=1)
    for first in range(0, len(readings), 80):
        store.runs.append(run, readings=readings[first : first + 80])
    events = tracker.command(EndRun(reason="done"), readings[-1].t_ns)
    store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=2)


def printed(rng):
    """A text indicator that shows 0.1 lbf, at times that waver."""
    for_each = drawn(GOOD_RUN, per_s=80)
    return [
        replace(
            one,
            t_ns=one.t_ns + round(rng.gauss(0, 120_000)),
            raw=round(10 * one.force_lbf),
            exponent=-1,
            force_lbf=round(10 * one.force_lbf) / 10,
        )
        for one in for_each
    ]


def counted(rng, corners=GOOD_RUN):
    """A converter with 60 counts of noise, corrected by a curve that its counts do not give."""
    readings = []
    for one in drawn(corners, per_s=80):
        raw = round(one.force_lbf * 85.87 + rng.gauss(0, 60))
        t_ns = one.t_ns + round(rng.gauss(0, 120_000))
        force_lbf = (raw - 27.7) / 85.87 + 1.3e-12 * raw * raw
        readings.append(replace(one, t_ns=t_ns, raw=raw, unit="count", force_lbf=force_lbf))
    return readings


def report(folder):
    """A report of 15 runs at 80 readings/s by a noisy converter, as its own process."""
    path = folder / "report.sqlite3"
    with Store.open(path) as store:
        fill(store, 0, stresses=[2000 * (at // 3 + 1) for at in range(15)])
        for specimen in store.records.of_kind(SpecimenAdded, 1):
            crush(store, specimen)
        store.runs.pack(most=15)
    print("\nreport of 15 runs    seconds  of processor    MB")
    for name, more in (("HTML", []), ("HTML and PDF", ["--pdf"])):
        started = time.perf_counter()
        child = subprocess.Popen(
            [sys.executable, "-m", "ramphold.cli", "report", "L0", "--db", path,
             "--out", folder, *more],
            stdout=subprocess.DEVNULL,
        )  # fmt: skip
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        assert child.returncode == 0
        seconds = time.perf_counter() - started
        processor_s = used.ru_utime + used.ru_stime
        print(f"{name:<18}{seconds:>10.2f}{processor_s:>14.2f}{used.ru_maxrss / 1024:>6.0f}")


def crush(store, specimen):
    """A run up to the specimen's target, judged by the tracker itself."""
    plan = RunPlan(target_psi=specimen.target_psi)
    up_s = 1 + plan.target_psi * 60 / plan.rate_psi_min
    corners = [(0, 0), (1, 0), (up_s, plan.target_psi), (up_s + 121, plan.target_psi),
               (up_s + 122, 0), (up_s + 124, 0)]  # fmt: skip
    readings = counted(random.Random(specimen.specimen), corners)
    tracker, events = fed(plan, readings)
    run = store.runs.begin(specimen=specimen.specimen, operator="KL", plan=plan, t_ns=0, utc_ns=1)
    store.runs.append(run, readings=readings)
    store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=2)


def questions(path, specimens):
    """The worksheet's questions of a full database, five times each, the slowest counting."""
    with Store.open(path) as store:
        with store._connection.transaction():
            for number in range(specimens // PER_SAMPLE):
                fill(store, number)
        ((records,),) = store._connection.rows("SELECT count(*) FROM records")
        print(f"\n{specimens} specimens, {records} records, {path.stat().st_size / 1e6:.0f} MB")
        middle = specimens // PER_SAMPLE // 2
        for name, question in (
            ("a whole sample with its next steps, as it goes over the socket",
             lambda: sheet(store, middle)),
            ("a page of 50 samples", store.samples.page),
            ("a specimen's masses", lambda: store.masses.of(middle, specimens // 2)),
            ("a sample by its laboratory number", lambda: store.samples.find(f"L{middle}")),
        ):  # fmt: skip
            print(f"{1000 * max(timed(question) for _ in range(5)):8.1f} ms  {name}")
        audit = store.audit()
        seconds = timed(lambda: list(audit.findings()))
        print(f"{seconds:8.1f} s   every record, row and rule looked over")


def sheet(store, sample):
    """What the daemon answers, to text and back."""
    record = store.samples.record(sample)
    text = msgspec.json.encode(SampleSheet(record=record, next=next_steps(record)))
    return msgspec.json.decode(text, type=SampleSheet)


def fill(store, number, stresses=(4000,) * PER_SAMPLE):
    """A sample with a specimen of three masses at each stress."""
    sample = store.samples.add(
        SampleReceived(
            operator="KL", utc_ns=number, laboratory_number=f"L{number}", client_reference="pit 3",
            material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
        )
    ).sample  # fmt: skip
    for target_psi in stresses:
        specimen = add_specimen(store, target_psi=target_psi, sample=sample)
        for item, load, mass_g in (
            ("charge", Load.NET, 39.52), ("pan", Load.TARE, 112.4), ("pan", Load.GROSS, 114.4),
        ):  # fmt: skip
            store.masses.take(
                MassTaken(
                    sample=sample, operator="KL", utc_ns=2, test=CRUSH, item=item, load=load,
                    specimen=specimen.specimen, mass_g=mass_g, line=b"S S     39.520 g", t_ns=1,
                )
            )  # fmt: skip


def timed(work):
    """How long it takes, in s."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


if __name__ == "__main__":
    main()
