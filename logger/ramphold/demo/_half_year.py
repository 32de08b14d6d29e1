"""Half a year of an invented laboratory: three benches, their samples, and the archive of it."""

import math
import random
from collections.abc import Callable
from pathlib import Path

from ramphold.clock import NS_PER_S, utc_text
from ramphold.collector.archive import Archive, open_archive
from ramphold.collector.bench_keys import accept_key
from ramphold.collector.direct_filing import file_directly, work_out_results
from ramphold.demo._invented_bench import InventedBench, SandSource
from ramphold.demo._invented_runs import InventedRuns, RunFault
from ramphold.keys.ed25519 import fingerprint
from ramphold.sample import Role
from ramphold.trust import CERTIFICATES, CLOCK, TrustLevel, TrustPart
from ramphold.wire import Envelope, StateMessage, pack_envelope, topic

_DAY_NS = 86_400 * NS_PER_S
_CONTROL_PSI = 6000.0
_CONTROL = SandSource(
    reference="control sand 6", customer="", size="20/40", ten_pct_psi=7600.0
)  # fmt: skip
_SOURCES = (
    SandSource(reference="north face", customer="Heron Quarry", size="20/40", ten_pct_psi=8600.0),
    SandSource(
        reference="river terrace", customer="Willow Pit", size="30/50", ten_pct_psi=9400.0,
        drift=-0.16,
    ),
    SandSource(reference="dune lot", customer="Amber Dunes", size="40/70", ten_pct_psi=10700.0),
    SandSource(reference="washed, bin", customer="Heron Quarry", size="20/40", ten_pct_psi=7300.0),
)  # fmt: skip
_REVIEWER = "MB"
#: Name, deviation of the press in %, and the operators who work there.
_BENCHES = (("press-1", 0.0, "KL TN"), ("press-2", 4.0, "TN RS"), ("press-3", -3.0, "KL RS"))
#: Days from the end to the last day of the certificate, and to the next inspection.
_CERTIFICATE_DAYS = {"press-1": 12, "press-2": 140, "press-3": 75}
_INSPECTION_DAYS = {"press-1": 90, "press-2": -3, "press-3": 40}
_POWER = 2.1
_BETWEEN_DAYS, _WITHIN = 0.05, 0.035
_FAULTS = (RunFault.FAST, RunFault.HIGH, RunFault.SHORT)
_FAULT_SHARE = 0.06
_CLIENT_SHARE, _ODD_WEEK, _LATE, _SOON_DAYS = 0.4, 23, 37, 30


def fill_laboratory(  # noqa: PLR0913
    archive: Path, folder: Path, until_utc_ns: int, seed: int, say: Callable[[str], None],
    *, weeks: int = 26,
) -> None:  # fmt: skip
    """Invent half a year at three benches, and file it as a collector does.

    One bench has records on the way, and one was put back from a copy and told another story.

    Args:
        archive: the archive to make.
        folder: where the benches' databases are made.
        until_utc_ns: the end of the last day.
        seed: of everything random.
        say: is told how far it is.
        weeks: how long it is; at least three.

    Raises:
        StoreError: a file cannot be written.
    """
    rng = random.Random(seed)  # noqa: S311 - an invention
    runs = InventedRuns(rng)
    with open_archive(str(archive)) as opened:
        for name, bias_pct, who in _BENCHES:
            bench = InventedBench(name, folder / f"{name}.sqlite3", rng, runs, bias_pct)
            half_year = _HalfYear(
                bench, rng, until_utc_ns - weeks * 7 * _DAY_NS, who.split(), weeks
            )
            try:
                half_year.work()
                records = bench.store.records.newest()
                say(f"{name}   {records} records, {half_year.crushed} specimens")
                late = _LATE if name == _BENCHES[1][0] else 0
                _file(opened, bench, until_utc_ns - 3600 * NS_PER_S, late=late)
            finally:
                bench.store.close()
        _file_other_story(opened, half_year, until_utc_ns)
        say("results of every sample")
        work_out_results(opened)


class _HalfYear:
    """What is done at one bench."""

    def __init__(
        self, bench: InventedBench, rng: random.Random, begin_ns: int, who: list[str], weeks: int
    ) -> None:
        self.weeks = weeks
        self.bench, self.copy = bench, bench.path.with_suffix(".copy")
        self.crushed = 0
        self._rng, self._begin_ns, self._who = rng, begin_ns, who
        self._samples = 0

    def work(self) -> None:
        """All weeks: the control sand in each, a client's sample in many."""
        self._day(0, 7)
        self.bench.equip(self._last_day(_CERTIFICATE_DAYS[self.bench.name]))
        self.bench.inspect(self._last_day(-60), new=True)
        for week in range(self.weeks):
            if week == self.weeks // 2:
                self.bench.inspect(self._last_day(_INSPECTION_DAYS[self.bench.name]), new=False)
            if week == self.weeks - 2:
                self.bench.copied_to(self.copy)
            self._control(week)
            if self._rng.random() < _CLIENT_SHARE or week >= self.weeks - 2:
                self.client(week, whole=week < self.weeks - 2)

    def _control(self, week: int) -> None:
        self._day(7 * week, 7.5)
        self.bench.cell = "A"
        number = f"C-{self.bench.name[-1]}-{week + 1:02}"
        sample = self.bench.receive(number, _CONTROL, Role.CONTROL)
        # In week 23 somebody had changed the sieve.
        day = self._rng.gauss(0, _BETWEEN_DAYS) + (0.35 if week == _ODD_WEEK else 0.0)
        self._stress(sample, _CONTROL, _CONTROL_PSI, 2, math.exp(day))
        if week == _ODD_WEEK and self.bench.name == _BENCHES[0][0]:
            self.bench.answer(sample, "a torn sieve was found and taken out of use")
        self._review(sample)

    def client(self, week: int, *, whole: bool = True) -> None:
        """A client's sample; one that is not whole stops after its first stress."""
        self._day(7 * week + self._rng.randint(1, 4), self._rng.uniform(7, 10))
        self._samples += 1
        self.bench.cell = self._rng.choice("AB")
        source = self._rng.choice(_SOURCES)
        number = f"26-{self.bench.name[-1]}{self._samples:02}"
        sample = self.bench.receive(number, source, Role.CLIENT)
        self.bench.sieve_and_fill(sample, source.size)
        lot = math.exp(self._rng.gauss(0, _BETWEEN_DAYS))
        middle_psi = 1000 * round(self._ten_pct_psi(source, week) / 1000)
        for stress_psi in (middle_psi - 1000, middle_psi, middle_psi + 1000)[: 3 if whole else 1]:
            self._day(self._now_day() + 1, self._rng.uniform(7, 12))
            self._stress(sample, source, float(stress_psi), 3, lot, week=week)
        if whole:
            self._review(sample)

    def _review(self, sample: int) -> None:
        self.bench.operator = _REVIEWER
        self.bench.review(sample)

    def _stress(  # noqa: PLR0913
        self, sample: int, source: SandSource, stress_psi: float, replicates: int, share: float,
        *, week: int = 0,
    ) -> None:  # fmt: skip
        self.bench.plan(sample, stress_psi, replicates)
        expected = 10 * (stress_psi / self._ten_pct_psi(source, week)) ** _POWER * share
        for _ in range(replicates):
            fines_pct = expected * math.exp(self._rng.gauss(0, _WITHIN))
            if self._rng.random() < _FAULT_SHARE:
                fault = self._rng.choice(_FAULTS)
                failed = self.bench.specimen(sample, stress_psi, fines_pct, fault)
                self.bench.leave_out(sample, failed, f"{fault}: crushed anew")
                self.crushed += 1
            self.bench.specimen(sample, stress_psi, fines_pct, RunFault.GOOD)
            self.crushed += 1

    def _ten_pct_psi(self, source: SandSource, week: int) -> float:
        return source.ten_pct_psi * (1 + source.drift * week / self.weeks)

    def _day(self, day: int, hour: float) -> None:
        """Go on at this time, unless it is later already; another hand may be at work."""
        morning_ns = self._begin_ns + day * _DAY_NS + round(hour * 3600 * NS_PER_S)
        self.bench.now_ns = max(self.bench.now_ns, morning_ns)
        self.bench.operator = self._rng.choice(self._who)

    def _last_day(self, days: int) -> str:
        """A day so many after the end of it all, ISO 8601."""
        return utc_text(self._begin_ns + (self.weeks * 7 + days) * _DAY_NS)[:10]

    def _now_day(self) -> int:
        return (self.bench.now_ns - self._begin_ns) // _DAY_NS


def _file(archive: Archive, bench: InventedBench, utc_ns: int, *, late: int = 0) -> None:
    """Sign and file what a bench has, but for the last `late` records."""
    store, newest = bench.store, bench.store.records.newest()
    signed = bench.sign()
    sent = [store.outbox.envelope(bench.name, number) for number in range(1, newest + 1 - late)]
    messages = [(topic(bench.name, "record"), pack_envelope(one)) for one in sent]
    file_directly(archive, messages, utc_ns)
    left = _CERTIFICATE_DAYS[bench.name]
    level = TrustLevel.DOUBTFUL if left < _SOON_DAYS else TrustLevel.WELL
    trust = (
        TrustPart(name=CLOCK, level=TrustLevel.WELL, text="invented"),
        TrustPart(name=CERTIFICATES, level=level, text=f"the first is due in {left} days"),
    )
    state = StateMessage(
        online=not late, version="invented", newest=newest, waiting=late, trust=trust, head=signed
    )
    told = Envelope(
        bench=bench.name, series=sent[-1].series, number=0, utc_ns=utc_ns, subject="state",
        message=state,
    )  # fmt: skip
    file_directly(archive, [(topic(bench.name, "state"), pack_envelope(told))], utc_ns)
    if signed is not None and not late:
        accept_key(archive, bench.name, fingerprint(signed.key), _REVIEWER, utc_ns)


def _file_other_story(archive: Archive, half_year: _HalfYear, utc_ns: int) -> None:
    """The bench was put back from a copy, and then told something else."""
    copied = half_year.bench.at(half_year.copy)
    try:
        copied.store.outbox.begin_series(copied.name)
        half_year.bench = copied
        half_year.client(half_year.weeks - 2, whole=False)
        _file(archive, copied, utc_ns)
    finally:
        copied.store.close()
