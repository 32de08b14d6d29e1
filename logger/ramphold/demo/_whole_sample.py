"""The demo of a whole sample, by the worksheet's next step; two things go wrong and are mended."""

import asyncio
import contextlib
import logging
from collections.abc import Callable, Iterator
from pathlib import Path

from msgspec import structs

from ramphold.control import (
    bench_methods,
    choice_methods,
    mass_methods,
    run_methods,
    run_queries,
    sample_methods,
    shaker_methods,
    specimen_methods,
)
from ramphold.demo._sample_masses import CYLINDER_MASSES_G, InventedMasses
from ramphold.demo._sample_result import IssueReport, ReportIssue, SampleDemoResult
from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.errors import InputError
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

Say = Callable[[str], None]

_REVIEWER = "check"
_SAMPLE, _CONTROL = "26-0417", "Q-26-01"
_TESTS = (SIEVING, DENSITY, "acid solubility", "turbidity", "sphericity", "roundness", CRUSH)
#: Capacity of the bench's balance. A heavier mass is weighed elsewhere and entered.
_CAPACITY_G = 220.0
_GRAINS = {"sphericity": ((0.7, 9), (0.8, 11)), "roundness": ((0.6, 8), (0.7, 12))}
_SPEED = 1000.0
#: A zero is the median of the readings of two seconds.
_REST_S = 3.0
#: Rule, measured value, expected value, and what its limit is a share of.
_CHECKS = (
    ("load zero", 4.0, 0.0, 50_000.0),
    ("load span", 20_030.0, 20_000.0, 20_000.0),
    ("check weight", 100.001, 100.0, 100.0),
)
#: Measured mean opening of the bench's sieve of each US number, in mm.
_OPENINGS_MM = {20: 0.856, 40: 0.4265}
#: Stress of the control sand, and its number of specimens.
_CONTROL_PSI, _CONTROLS = 4000.0, 3


async def walk_sample(  # noqa: PLR0913
    folder: Path, seed: int, say: Say, issue_report: IssueReport,
    *, most_specimens: int = 15, sand: str = "fair",
) -> SampleDemoResult:  # fmt: skip
    """Take an invented sample from receipt to report, as fast as possible.

    Args:
        folder: where the database is made; an InputError where samples are already.
        seed: of everything random.
        say: called with each line of the story.
        issue_report: issues the report; called in a thread.
        sand: its quality.
        most_specimens: after this number of specimens no further stress is planned.
    """
    with _quiet():
        async with SimulatedBench(folder, seed=seed, speed=_SPEED, sand=sand) as bench:
            if (await bench.ask(sample_methods.SAMPLES)).samples:
                raise InputError(f"{folder} holds samples already: name a new folder")
            return await _Walk(bench, seed, say, issue_report, most_specimens).sample()


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Hide the warnings that the load is silent: the demo skips time."""
    log = logging.getLogger("ramphold")
    before = log.level
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        log.setLevel(before)


class _Walk:
    """An operator who follows the worksheet."""

    def __init__(
        self, bench: SimulatedBench, seed: int, say: Say, issue: IssueReport, most_specimens: int
    ) -> None:
        self._bench = bench
        self._ask = bench.ask
        self._masses = InventedMasses(bench, seed)
        self._issue = issue
        self._seed = seed
        self._say = say
        self._most = most_specimens
        self._specimens = 0
        self._spilled = False

    async def sample(self) -> SampleDemoResult:
        """Prepare the bench, crush the control sand, then test the sample and report it."""
        await self._prepare_bench()
        await self._crush_control_sand()
        await self._receive(_SAMPLE, "pit 3, north face", tests=_TESTS)
        await self._follow_worksheet(_SAMPLE)
        await self._ask(sample_methods.REVIEW_SAMPLE, sample=_SAMPLE, operator=_REVIEWER)
        report = await self._report()
        sheet = await self._ask(sample_methods.SAMPLE, sample=_SAMPLE)
        self._say("")
        for line in sample_lines(sheet.record, sheet.next):
            self._say(line)
        found = await self._ask(sample_methods.NEXT_STRESS, sample=_SAMPLE)
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
        """Issue the report while the daemon runs; returns its file."""
        bench, loop = self._bench, asyncio.get_running_loop()

        def record(sha256: str, pdf_sha256: str) -> None:
            given = {"sha256": sha256, "pdf_sha256": pdf_sha256}
            issued = self._ask(
                sample_methods.ISSUE_REPORT, sample=_SAMPLE, operator=_REVIEWER, **given
            )
            asyncio.run_coroutine_threadsafe(issued, loop).result()

        now = ReportIssue(sample=_SAMPLE, by=_REVIEWER, utc_ns=bench.clock.utc_ns(), record=record)
        revision, file = await asyncio.to_thread(self._issue, bench.config, now)
        self._say(f"report    revision {revision}: {file}")
        return file

    async def _prepare_bench(self) -> None:
        """The checks of a day's start, and the density cylinder."""
        for rule, measured, expected, base in _CHECKS:
            await self._ask(
                bench_methods.MAKE_DAILY_CHECK,
                rule=rule,
                measured=measured,
                expected=expected,
                base=base,
            )
        await self._ask(
            bench_methods.CHECK_EQUIPMENT,
            equipment=Equipment.CELL,
            name="A",
            measured=2.0004,
            nominal=2.0,
            new=True,
            finding="bore measured at three heights",
        )
        for sieve, opening_mm in _OPENINGS_MM.items():
            await self._ask(
                bench_methods.CHECK_EQUIPMENT,
                equipment=Equipment.SIEVE,
                name=f"{sieve}-A",
                sieve=sieve,
                measured=opening_mm,
                finding="no tears, sound frame",
            )
        for load, mass_g in CYLINDER_MASSES_G.items():
            await self._weigh(None, WeighingPlace(test=CYLINDER, item="C1", load=load), mass_g)
        found = await self._ask(bench_methods.CALIBRATE_CYLINDER, cylinder="C1", temp_c=21.5)
        self._masses.fill_cylinder(found.volume_cm3)
        self._say(f"cylinder C1 holds {found.volume_cm3:.3f} cm3, by water at 21.5 C")

    async def _crush_control_sand(self) -> None:
        await self._receive(_CONTROL, "control sand", tests=(DENSITY, CRUSH), role=Role.CONTROL)
        await self._plan(_CONTROL, _CONTROL_PSI, _CONTROLS)
        await self._follow_worksheet(_CONTROL)

    async def _receive(
        self, number: str, client: str, *, tests: tuple[str, ...], role: Role = Role.CLIENT
    ) -> None:
        await self._ask(
            sample_methods.ADD_SAMPLE,
            laboratory_number=number,
            client_reference=client,
            size="20/40",
            tests=tests,
            role=role,
            sieves_net=True,
            mass_balance=role is Role.CLIENT,
        )
        self._say(f"sample {number} received: {client}")

    async def _plan(self, sample: str, stress_psi: float, replicates: int) -> None:
        await self._ask(
            sample_methods.PLAN_STRESS, sample=sample, stress_psi=stress_psi, replicates=replicates
        )

    async def _follow_worksheet(self, sample: str) -> None:
        while (step := await self._next(sample)) is not None:
            await self._do(sample, step)

    async def _next(self, sample: str) -> NextStep | None:
        """The next step; when only the review is left, plan the most informative stress."""
        sheet = await self._ask(sample_methods.SAMPLE, sample=sample)
        step = sheet.next[0]
        if step.step is Step.PLAN or (step.step is Step.REVIEW and sample == _SAMPLE):
            there = sheet.record.specimens
            found = await self._ask(sample_methods.NEXT_STRESS, sample=sample)
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

    async def _do(self, sample: str, step: NextStep) -> None:
        specimen, run = step.specimen or 0, step.run
        match step.step:
            case Step.WEIGH if step.place is not None:
                await self._weigh(sample, step.place, self._masses.mass_g(step.place))
            case Step.CHOOSE_CYLINDER | Step.CHOOSE_SIEVE:
                await self._choose(sample, step)
            case Step.ADD_SPECIMEN:
                await self._add_specimen(sample, step.stress_psi or 0.0)
            case Step.TICK:
                if step.tick is Tick.ZEROED:
                    await self._zero()
                await self._ask(specimen_methods.TICK, specimen=specimen, what=step.tick)
            case Step.CRUSH:
                await self._crush(specimen)
            case Step.DECIDE:
                reason = "crushed anew"
                await self._ask(specimen_methods.DECIDE_RUN, run=run, counts=False, reason=reason)
            case Step.SHAKE:
                of = {"specimen": specimen} if specimen else {"sample": sample}
                shaking = await self._ask(shaker_methods.START_SHAKING, **of)
                await self._bench.skip(shaking.planned_s)
            case Step.ENTER:
                await self._enter(sample, step.what or "")

    async def _choose(self, sample: str, step: NextStep) -> None:
        if step.sieve_use is None:
            await self._ask(choice_methods.CHOOSE_CYLINDER, sample=sample, cylinder="C1")
        for sieve in step.sieves:
            await self._ask(
                choice_methods.CHOOSE_SIEVE,
                sample=sample,
                use=step.sieve_use,
                serial=f"{sieve}-A",
            )

    async def _add_specimen(self, sample: str, stress_psi: float) -> None:
        self._specimens += 1
        await self._ask(
            specimen_methods.ADD_SPECIMEN,
            sample=sample,
            label=f"{stress_psi / 1000:.0f}K-{self._specimens}",
            target_psi=stress_psi,
            cell="A",
        )

    async def _zero(self) -> None:
        """Zero the load with a fresh cell under the press, which nobody touches."""
        self._bench.lay_bed()
        await self._bench.pass_time(_REST_S)
        await self._ask(bench_methods.ZERO_LOAD)

    async def _crush(self, specimen: int) -> None:
        press = self._bench.daemon.press
        self._bench.lay_bed()
        started = await self._ask(run_methods.START_RUN, specimen=specimen)
        while press.live:
            await self._bench.pump()
        await press.written()
        run = (await self._ask(run_queries.RUN, run=started.run)).run
        verdict = "not judged" if run.assessment is None else run.assessment.verdict
        self._say(f"specimen  {specimen} at {run.plan.target_psi:.0f} psi: {run.state}, {verdict}")

    async def _enter(self, sample: str, what: str) -> None:
        """Enter a value; the turbidity is mistyped and then corrected."""
        if what in _GRAINS:
            await self._ask(
                sample_methods.ENTER_VALUE, sample=sample, what=what, counts=_GRAINS[what]
            )
            return
        wrong = await self._ask(sample_methods.ENTER_VALUE, sample=sample, what=what, value=640.0)
        await self._ask(
            sample_methods.ENTER_VALUE,
            sample=sample,
            what=what,
            value=64.0,
            corrects=wrong.record,
            reason="typed a nought too many",
        )

    async def _weigh(self, sample: str | None, place: WeighingPlace, mass_g: float) -> None:
        by_hand = mass_g > _CAPACITY_G or not mass_g
        if not by_hand:
            await self._bench.weigh(mass_g)
        await self._ask(
            mass_methods.WEIGH,
            sample=None if place.specimen else sample,
            **structs.asdict(place),
            mass_g=mass_g if by_hand else None,
        )
        if (place.test, place.item, place.load) == (CRUSH, "pan", Load.GROSS):
            await self._spill_once(place.specimen)

    async def _spill_once(self, specimen: int | None) -> None:
        """Knock over the pan of the first specimen after those of the control sand."""
        if self._spilled or self._specimens <= _CONTROLS + 1:
            return
        self._spilled = True
        await self._ask(
            specimen_methods.DECIDE_EXCLUSION,
            specimen=specimen,
            excluded=True,
            reason="pan knocked over while brushing",
        )
