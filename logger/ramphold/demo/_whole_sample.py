"""`ramphold demo --sample`: an invented sample from receipt to report, by the real path.

Each step is what the worksheet asks for next; two things go wrong, as they do, and are put right.
"""

import asyncio
import contextlib
import logging
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from ramphold.control import (
    bench_methods,
    mass_methods,
    run_methods,
    run_queries,
    sample_methods,
    shaker_methods,
    specimen_methods,
)
from ramphold.control.act import Method
from ramphold.daemon.config import BenchConfig
from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.sample import (
    CRUSH,
    CYLINDER,
    DENSITY,
    SIEVING,
    Equipment,
    Load,
    NextStep,
    Role,
    Step,
    Tick,
    WeighingPlace,
)
from ramphold.text import sample_lines

__all__ = ["IssueReport", "ReportIssue", "SampleDemoResult", "walk_sample"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")
Say = Callable[[str], None]

_OPERATOR, _REVIEWER = "demo", "check"
_SAMPLE, _CONTROL = "26-0417", "Q-26-01"
_TESTS = (SIEVING, DENSITY, "acid solubility", "turbidity", "sphericity", "roundness", CRUSH)
_BULK_DENSITY_G_CM3 = 1.60
_CYLINDER_G, _WATER_G, _PAN_G = 812.40, 99.83, 112.436
#: What the bench's balance bears; what is heavier is weighed on another one and entered.
_MOST_G = 220.0
#: What stays on each sieve of a charge of 100 g.
_HELD_G = {
    "16": 0.0,
    "20": 1.2,
    "25": 12.4,
    "30": 27.1,
    "35": 31.8,
    "40": 23.0,
    "50": 3.9,
    "pan": 0.4,
}
_GRAINS = {"sphericity": ((0.7, 9), (0.8, 11)), "roundness": ((0.6, 8), (0.7, 12))}
_SPEED = 1000.0
#: Rule, what was read, what should have been, and of what its limit is a part.
_CHECKS = (
    ("load zero", 4.0, 0.0, 50_000.0),
    ("load span", 20_030.0, 20_000.0, 20_000.0),
    ("check weight", 100.001, 100.0, 100.0),
)
_EQUIPMENT = (
    bench_methods.CheckEquipmentParams(
        equipment=Equipment.CELL, name="A", measured=2.0004, nominal=2.0, new=True,
        finding="bore measured at three heights", operator=_OPERATOR,
    ),
    *(
        bench_methods.CheckEquipmentParams(
            equipment=Equipment.SIEVE, name=sieve, finding="no tears, sound frame",
            operator=_OPERATOR,
        )
        for sieve in ("20", "40")
    ),
)  # fmt: skip
#: Our own control stress, and how many specimens of the control sand.
_CONTROL_PSI, _CONTROLS = 4000.0, 3


class SampleDemoResult(Struct, frozen=True, kw_only=True):
    """What the demo of a sample ends with; `report` is the file that went out."""

    seed: int
    sample: str
    specimens: int
    counted: int
    crush_class: str | None
    probability: float | None
    records: int
    link: str
    report: str


class ReportIssue(Struct, frozen=True, kw_only=True):
    """What a report is issued with; `record` records the issue under the SHA-256 of the report."""

    sample: str
    by: str
    utc_ns: int
    record: Callable[[str], None]


#: Writes and issues the report of a sample on a bench; returns its revision and its file.
IssueReport = Callable[[BenchConfig, ReportIssue], tuple[int, str]]


async def walk_sample(
    folder: Path, seed: int, say: Say, issue_report: IssueReport, *, most_specimens: int = 15
) -> SampleDemoResult:
    """Walk an invented sample through the daemon, as fast as it goes.

    Args:
        folder: where the database is made.
        seed: of everything that chance decides.
        say: takes each line of the story.
        issue_report: issues the report, in a thread.
        most_specimens: after how many no further stress is asked for.
    """
    with _quiet():
        async with SimulatedBench(folder, seed=seed, speed=_SPEED) as bench:
            return await _Walk(bench, seed, say, issue_report, most_specimens).sample()


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Time that is skipped looks like a load that went silent; that is no news here."""
    log = logging.getLogger("ramphold")
    before = log.level
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        log.setLevel(before)


class _Walk:
    """An operator who does what the worksheet says next."""

    def __init__(
        self, bench: SimulatedBench, seed: int, say: Say, issue: IssueReport, most_specimens: int
    ) -> None:
        self._bench = bench
        self._issue = issue
        self._seed = seed
        self._say = say
        self._most = most_specimens
        self._rng = random.Random(seed)  # noqa: S311 - a simulation
        self._charges: dict[int, float] = {}
        self._spilled: int | None = None

    async def sample(self) -> SampleDemoResult:
        """The cylinder, the control sand, the sample itself, and what it came to."""
        await self._prepare()
        await self._receive(_SAMPLE, "pit 3, north face", tests=_TESTS)
        while (step := await self._next(_SAMPLE)) is not None:
            await self._do(_SAMPLE, step)
        await self._ask(
            sample_methods.REVIEW_SAMPLE,
            sample_methods.ReviewSampleParams(sample=_SAMPLE, operator=_REVIEWER),
        )
        report = await self._report()
        sheet = await self._ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=_SAMPLE))
        self._say("")
        for line in sample_lines(sheet.record, sheet.next):
            self._say(line)
        found = await self._ask(
            sample_methods.NEXT_STRESS, sample_methods.SampleParams(sample=_SAMPLE)
        )
        return SampleDemoResult(
            seed=self._seed,
            sample=_SAMPLE,
            specimens=len(sheet.record.specimens),
            counted=len(sheet.record.counted),
            crush_class=found.crush_class,
            probability=found.probability,
            records=sheet.record.chain.records,
            link=sheet.record.chain.sha256,
            report=report,
        )

    async def _report(self) -> str:
        """Issue it as the command does, while the daemon runs; the file that went out."""
        bench, loop = self._bench, asyncio.get_running_loop()

        def record(sha256: str) -> None:
            wanted = sample_methods.IssueReportParams(
                sample=_SAMPLE, operator=_REVIEWER, sha256=sha256
            )
            asking = asyncio.run_coroutine_threadsafe(
                self._ask(sample_methods.ISSUE_REPORT, wanted), loop
            )
            asking.result()

        now = ReportIssue(sample=_SAMPLE, by=_REVIEWER, utc_ns=bench.clock.utc_ns(), record=record)
        revision, file = await asyncio.to_thread(self._issue, bench.config, now)
        self._say(f"report    revision {revision}: {file}")
        return file

    async def _prepare(self) -> None:
        """What a laboratory has seen to before a day's work."""
        for rule, measured, expected, base in _CHECKS:
            check = bench_methods.MakeDailyCheckParams(
                rule=rule, measured=measured, expected=expected, base=base, operator=_OPERATOR
            )
            await self._ask(bench_methods.MAKE_DAILY_CHECK, check)
        for one in _EQUIPMENT:
            await self._ask(bench_methods.CHECK_EQUIPMENT, one)
        for load, mass_g in ((Load.TARE, _CYLINDER_G), (Load.GROSS, _CYLINDER_G + _WATER_G)):
            await self._weigh(WeighingPlace(test=CYLINDER, item="C1", load=load), mass_g)
        wanted = bench_methods.CalibrateCylinderParams(
            cylinder="C1", temp_c=21.5, operator=_OPERATOR
        )
        volume_cm3 = (await self._ask(bench_methods.CALIBRATE_CYLINDER, wanted)).volume_cm3
        self._fill_g = round(_BULK_DENSITY_G_CM3 * volume_cm3, 2)
        self._say(f"cylinder C1 holds {volume_cm3:.3f} cm3, by water at 21.5 C")
        await self._receive(_CONTROL, "control sand", tests=(DENSITY, CRUSH), role=Role.CONTROL)
        await self._plan(_CONTROL, _CONTROL_PSI, _CONTROLS)
        while (step := await self._next(_CONTROL)) is not None:
            await self._do(_CONTROL, step)

    async def _receive(
        self, number: str, client: str, *, tests: tuple[str, ...], role: Role = Role.CLIENT
    ) -> None:
        wanted = sample_methods.AddSampleParams(
            laboratory_number=number,
            client_reference=client,
            size="20/40",
            tests=tests,
            role=role,
            sieves_net=True,
            mass_balance=role is Role.CLIENT,
            operator=_OPERATOR,
        )
        await self._ask(sample_methods.ADD_SAMPLE, wanted)
        self._say(f"sample {number} received: {client}")

    async def _next(self, sample: str) -> NextStep | None:
        """What to do next; where only the review is left, the stress that tells most."""
        sheet = await self._ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=sample))
        step = sheet.next[0]
        if step.step is Step.PLAN or (step.step is Step.REVIEW and sample == _SAMPLE):
            there = sheet.record.specimens
            wanted = sample_methods.SampleParams(sample=sample)
            found = await self._ask(sample_methods.NEXT_STRESS, wanted)
            if found.stress_psi is None or len(there) >= self._most:
                return None
            planned = [
                one
                for one in there
                if one.added.target_psi == found.stress_psi and one.exclusion is None
            ]
            self._say(f"next      {found.stress_psi:.0f} psi: {found.reason}")
            await self._plan(sample, found.stress_psi, len(planned) + found.specimens)
            return await self._next(sample)
        return None if step.step is Step.REVIEW else step

    async def _plan(self, sample: str, stress_psi: float, replicates: int) -> None:
        wanted = sample_methods.PlanStressParams(
            sample=sample, stress_psi=stress_psi, replicates=replicates, operator=_OPERATOR
        )
        await self._ask(sample_methods.PLAN_STRESS, wanted)

    async def _do(self, sample: str, step: NextStep) -> None:
        number = step.specimen or 0
        match step.step:
            case Step.WEIGH if step.place is not None:
                await self._fill(sample, step.place)
            case Step.CHOOSE_CYLINDER:
                chosen = sample_methods.ChooseCylinderParams(
                    sample=sample, cylinder="C1", operator=_OPERATOR
                )
                await self._ask(sample_methods.CHOOSE_CYLINDER, chosen)
            case Step.ADD_SPECIMEN:
                await self._add_specimen(sample, step.stress_psi or 0.0)
            case Step.TICK:
                seen = specimen_methods.TickParams(
                    specimen=number, what=step.tick or Tick.CUT, operator=_OPERATOR
                )
                await self._ask(specimen_methods.TICK, seen)
            case Step.CRUSH:
                await self._crush(number)
            case Step.DECIDE:
                decided = specimen_methods.DecideRunParams(
                    run=step.run or 0, counts=False, reason="crushed anew", operator=_OPERATOR
                )
                await self._ask(specimen_methods.DECIDE_RUN, decided)
            case Step.SHAKE:
                await self._shake(sample, step.specimen)
            case Step.ENTER:
                await self._enter(sample, step.what or "")

    async def _add_specimen(self, sample: str, stress_psi: float) -> None:
        count = len(self._charges) + 1
        wanted = specimen_methods.AddSpecimenParams(
            sample=sample,
            label=f"{stress_psi / 1000:.0f}K-{count}",
            target_psi=stress_psi,
            cell="A",
            operator=_OPERATOR,
        )
        added = await self._ask(specimen_methods.ADD_SPECIMEN, wanted)
        self._charges[added.specimen] = 0.0

    async def _crush(self, specimen: int) -> None:
        bench = self._bench
        bench.lay_bed()
        started = await self._ask(
            run_methods.START_RUN, run_methods.StartRunParams(specimen=specimen, operator=_OPERATOR)
        )
        while bench.daemon.press.live:
            await bench.pump()
        await bench.daemon.press.written()
        run = (await self._ask(run_queries.RUN, run_queries.RunParams(run=started.run))).run
        verdict = "not judged" if run.assessment is None else run.assessment.verdict
        self._say(f"specimen  {specimen} at {run.plan.target_psi:.0f} psi: {run.state}, {verdict}")

    async def _shake(self, sample: str, specimen: int | None) -> None:
        wanted = shaker_methods.StartShakingParams(
            sample=None if specimen else sample, specimen=specimen, operator=_OPERATOR
        )
        shaking = await self._ask(shaker_methods.START_SHAKING, wanted)
        await self._bench.skip(shaking.planned_s)

    async def _enter(self, sample: str, what: str) -> None:
        """A value; the turbidity is typed wrong and put right."""
        counts = _GRAINS.get(what, ())
        wanted = sample_methods.EnterValueParams(
            sample=sample,
            what=what,
            value=None if counts else 640.0,
            counts=counts,
            operator=_OPERATOR,
        )
        wrong = await self._ask(sample_methods.ENTER_VALUE, wanted)
        if not counts:
            right = sample_methods.EnterValueParams(
                sample=sample,
                what=what,
                value=64.0,
                corrects=wrong.record,
                reason="typed a nought too many",
                operator=_OPERATOR,
            )
            await self._ask(sample_methods.ENTER_VALUE, right)

    # --- masses --------------------------------------------------------------------------------

    async def _fill(self, sample: str, place: WeighingPlace) -> None:
        mass_g = self._mass_g(place)
        await self._weigh(place, mass_g, sample)
        if (place.test, place.item, place.load) == (CRUSH, "pan", Load.GROSS):
            await self._spill(place.specimen or 0)

    def _mass_g(self, place: WeighingPlace) -> float:
        if place.test == SIEVING:
            return 100.0 if place.item == "charge" else _HELD_G.get(place.item, 0.0)
        if place.test == DENSITY:
            return _CYLINDER_G + (0.0 if place.load is Load.TARE else self._fill_g)
        if place.test == CRUSH:
            return self._specimen_mass_g(place)
        return 5.012 if place.item == "before" else 4.953

    def _specimen_mass_g(self, place: WeighingPlace) -> float:
        number = place.specimen or 0
        if place.item == "charge":
            target_g = 24.7 * _BULK_DENSITY_G_CM3
            self._charges[number] = self._bench.weighed_out_g(target_g)
            return self._charges[number]
        if place.load is Load.TARE:
            return _PAN_G
        charge_g = self._charges[number]
        if place.item == "pan":
            self._fines_g = self._bench.crushed_g(charge_g)
            return round(_PAN_G + self._fines_g, 3)
        return round(charge_g - self._fines_g - abs(self._rng.gauss(0.02, 0.01)), 3)

    async def _spill(self, specimen: int) -> None:
        """Once, some of what is in the pan is lost, and the specimen with it."""
        if self._spilled is None and len(self._charges) > _CONTROLS + 1:
            self._spilled = specimen
            wanted = specimen_methods.DecideExclusionParams(
                specimen=specimen,
                excluded=True,
                reason="pan knocked over while brushing",
                operator=_OPERATOR,
            )
            await self._ask(specimen_methods.DECIDE_EXCLUSION, wanted)

    async def _weigh(self, place: WeighingPlace, mass_g: float, sample: str | None = None) -> None:
        by_hand = mass_g > _MOST_G or not mass_g
        if not by_hand:
            await self._bench.weigh(mass_g)
        wanted = mass_methods.WeighParams(
            sample=None if place.specimen or place.test == CYLINDER else sample,
            test=place.test,
            item=place.item,
            load=place.load,
            specimen=place.specimen,
            mass_g=mass_g if by_hand else None,
            operator=_OPERATOR,
        )
        await self._ask(mass_methods.WEIGH, wanted)

    async def _ask(self, method: Method[P, R], params: P) -> R:
        return await self._bench.client.call(method, params)
