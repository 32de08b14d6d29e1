"""A large archive: samples of one bench, copied under other numbers, with links that hold."""

import random
from collections.abc import Iterator
from pathlib import Path

from msgspec import structs

from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.sample import (
    CRUSH,
    Load,
    MassTaken,
    Reviewed,
    RunFinished,
    SampleReceived,
    SpecimenAdded,
    StressPlanned,
    kind_name,
)
from ramphold.store import Store
from ramphold.wire import decode_body, encode_body, link
from support.benches import FilledBench

BENCHES = ("press-1", "press-2", "press-3")
CLIENTS = ("northern pit", "Ostrava sand", "Łódź quarry", "river bend", "mill 7", "<b>loud</b>")
#: 2023-12-01; three years.
_BEGIN_NS = 1_701_388_800 * 10**9
_SPAN_NS = 3 * 365 * 86_400 * 10**9
_KEPT = SampleReceived, StressPlanned, SpecimenAdded, Reviewed
_EVENT = f"INSERT INTO events VALUES ({', '.join('?' * 14)})"  # noqa: S608 - our own words
_RUN = f"INSERT INTO run_data VALUES ({', '.join('?' * 21)})"  # noqa: S608


def fill(path: Path, specimens: int, runs: int, folder: Path) -> None:
    """Fill a new archive; the runs are those of the newest samples."""
    template, bench_records, run_rows = _template(folder)
    of_a_sample = sum(isinstance(one, SpecimenAdded) for one in template)
    samples = -(-specimens // of_a_sample)
    first_with_run = samples - -(-runs // of_a_sample)
    rng = random.Random(1)
    with open_archive(str(path)) as archive:
        benches = [_Bench(archive, name, run_rows) for name in BENCHES]
        for bench in benches:
            with archive.transaction():
                for record in bench_records:
                    bench.add(structs.replace(record, utc_ns=_BEGIN_NS))
        for begin in range(0, samples, 200):
            with archive.transaction():
                for number in range(begin, min(begin + 200, samples)):
                    utc_ns = _BEGIN_NS + _SPAN_NS * number // samples
                    given = _sample(template, number, utc_ns, rng, runs=number >= first_with_run)
                    benches[number % len(benches)].add_sample(given)
        with archive.transaction():
            for bench in benches:
                bench.count()
        while work_out(archive, 100):
            pass


class _Bench:
    def __init__(self, archive, name, run_rows):
        self.database, self.name, self.run_rows = archive.database, name, run_rows
        self.series = random.Random(name).randbytes(16).hex()
        self.record = self.sample = self.specimen = self.run = 0
        self.before = ""
        self.bench_link = ""

    def add(self, record, previous=None):
        """File a record; its link."""
        self.record += 1
        record = structs.replace(record, record=self.record)
        body = encode_body(record)
        chain = self.bench_link if previous is None else previous
        now = link(chain, body)
        number = record.laboratory_number if isinstance(record, SampleReceived) else None
        self.database.write(
            _EVENT,
            (self.series, self.record, self.name, kind_name(type(record)), record.sample,
             getattr(record, "specimen", None), number, record.operator, record.utc_ns,
             body.decode(), self.before, chain, now, record.utc_ns),
        )  # fmt: skip
        self.before = now
        if previous is None:
            self.bench_link = now
        if isinstance(record, RunFinished):
            self.database.write(_RUN, self._run_row(record))
        return now

    def add_sample(self, records):
        self.sample += 1
        specimens, chain = {}, ""
        for record in records:
            changes = {"sample": self.sample}
            if getattr(record, "specimen", None) is not None:
                if record.specimen not in specimens:
                    self.specimen += 1
                    specimens[record.specimen] = self.specimen
                changes["specimen"] = specimens[record.specimen]
            if isinstance(record, RunFinished):
                self.run += 1
                changes["run"] = self.run
            chain = self.add(structs.replace(record, **changes), chain)
        self.database.write("INSERT INTO dirty VALUES (?, ?)", (self.series, self.sample))

    def count(self):
        self.database.write(
            "INSERT INTO benches (series, bench, first_utc_ns, heard_utc_ns, filed, newest) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (self.series, self.name, _BEGIN_NS, _BEGIN_NS + _SPAN_NS, self.record, self.record),
        )

    def _run_row(self, record):
        return (
            self.series, self.record, record.run, record.specimen, record.state, record.verdict,
            record.target_psi, record.peak_lbf, record.ramp_rate_psi_min, record.held_s,
            record.hold_mean_psi, record.started_utc_ns, record.ended_utc_ns,
            *self.run_rows[record.target_psi],
        )  # fmt: skip


def _template(folder: Path):
    """Records of a sample and of the bench, and the rest of a run's row by its target."""
    path = folder / "template.sqlite"
    bench = FilledBench(path, per_s=80, noise_lbf=8.0)
    bench.certify()
    bench.sample("template")
    bench.close()
    run_rows = {}
    with Store.read(path) as store:
        records = [decode_body(body) for body in _bodies(store)]
        for number in range(1, store.records.newest() + 1):
            run = store.outbox.envelope("p1", number).message.run
            if run is not None:
                rows, record = run.rows, records[number - 1]
                run_rows[record.target_psi] = (
                    rows.started_t_ns, rows.ended_t_ns, record.readings, rows.plan, "[]", "[]",
                    rows.assessment, run.trace,
                )  # fmt: skip
    own = [one for one in records if one.sample is None]
    sample = [
        one
        for one in records
        if one.sample is not None
        and (isinstance(one, (*_KEPT, RunFinished)) or getattr(one, "test", "") == CRUSH)
    ]
    return sample, own, run_rows


def _bodies(store) -> Iterator[str]:
    for number in range(1, store.records.newest() + 1):
        yield store.outbox.envelope("p1", number).message.body


def _sample(template, number, utc_ns, rng, *, runs):
    """A sample's records, under a laboratory number of its own and with other fines."""
    more_g = rng.gauss(0, 0.3)
    began_ns = template[0].utc_ns
    for one in template:
        if isinstance(one, RunFinished) and not runs:
            continue
        changes = {"utc_ns": utc_ns + one.utc_ns - began_ns}
        if isinstance(one, SampleReceived):
            changes |= {
                "laboratory_number": f"{number:06}",
                "client_reference": CLIENTS[number % len(CLIENTS)],
                "size": ("20/40", "30/50", "40/70")[number % 3],
            }
        elif isinstance(one, RunFinished):
            lasted_ns = one.ended_utc_ns - one.started_utc_ns
            changes |= {
                "started_utc_ns": changes["utc_ns"] - lasted_ns,
                "ended_utc_ns": changes["utc_ns"],
            }
        elif isinstance(one, MassTaken) and one.load is Load.GROSS:
            changes["mass_g"] = round(one.mass_g + more_g + rng.gauss(0, 0.05), 3)
        yield structs.replace(one, **changes)
