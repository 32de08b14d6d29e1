"""A sample walked from receipt to report through the methods that the screen and commands call."""

import asyncio
import re

import pytest
from msgspec import structs

from ramphold.control.handlers import Handlers
from ramphold.control.methods import METHODS
from ramphold.core import MassReading, MassState
from ramphold.daemon._balance_now import BalanceNow
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig, WorksheetConfig
from ramphold.daemon.records import RecordService
from ramphold.errors import CommandRefused, ConfigError, InputError
from ramphold.method.control_chart import BASE_DAYS
from ramphold.method.editions import edition_sha256, find_size, packaged_text
from ramphold.sample import (
    DailyCheckMade,
    MassTaken,
    SampleState,
    Step,
    Tick,
    edition_file_words,
)
from ramphold.testing import ManualClock
from support.configs import bench_config
from support.crushes import crush

CONFIG = bench_config(balance=BalanceConfig(port="none", profile="reply-state"))


class Bench:
    """A daemon without ports: its methods, its database, and a balance that shows what it is told.

    A call goes in as JSON has it, so that the table's own checks are part of every step.
    """

    def __init__(self, store, config=CONFIG):
        self.store = store
        self.clock = ManualClock()
        self.balance = BalanceNow(config.balance, self.clock)
        self.handlers = Handlers()
        RecordService(config, self.balance, store, self.clock).answer(self.handlers)

    async def call(self, name, /, **params):
        if METHODS[name].needs_initials:
            params.setdefault("operator", "KL")
        return await self.handlers.answer(name, params)

    def show(self, mass_g, state=MassState.STABLE):
        line = f"S S {mass_g or 0:10.3f} g".encode()
        self.balance.take(
            MassReading(t_ns=self.clock.now_ns(), mass_g=mass_g, state=state, line=line)
        )

    async def weigh(self, mass_g, **place):
        self.show(0.0)  # what was weighed before is taken off first
        self.show(mass_g)
        return await self.call("weigh", **place)

    async def steps(self, sample="26-0417"):
        return (await self.call("sample", sample=sample)).next

    async def record(self, sample="26-0417"):
        return (await self.call("sample", sample=sample)).record

    async def receive(self, number="26-0417", **changes):
        return await self.call(
            "add_sample",
            **{"laboratory_number": number, "client_reference": "pit 3", "size": "20/40"} | changes,
        )

    async def cylinder(self, water_g=99.8):
        for load, mass_g in (("tare", 800.0), ("gross", 800.0 + water_g)):
            await self.weigh(mass_g, test="cylinder", item="C1", load=load)
        return await self.call("calibrate_cylinder", cylinder="C1", temp_c=20.0)

    async def reads_zero(self, **changes):
        read = {"rule": "load zero", "measured": 3.0, "expected": 0.0, "base": 50_000.0,
                "off_pct": 0.006, "verdict": "good", "off_lbf": 3.0} | changes  # fmt: skip
        zero = DailyCheckMade(operator="KL", utc_ns=self.clock.utc_ns(), **read)
        return (await self.store.run(lambda store: store.records.append(zero))).record

    async def crushed(self, specimen, *, fails=False):
        return await self.store.run(lambda store: crush(store, specimen, fails=fails))


@pytest.fixture
def on_bench(tmp_path):
    """A function that runs a coroutine on a bench of its own."""

    def run(walk, **changed):
        config = structs.replace(CONFIG, **changed)

        async def whole():
            store = await StoreThread.open(tmp_path / "bench.sqlite")
            try:
                return await walk(Bench(store, config))
            finally:
                await store.aclose()

        return asyncio.run(whole())

    return run


async def to_density(bench):
    """A sample whose density is 1.60 g/cm3 in a cylinder of 100 cm3."""
    await bench.receive()
    volume = (await bench.cylinder()).volume_cm3
    await bench.call("choose_cylinder", sample="26-0417", cylinder="C1")
    for load, mass_g in (("tare", 800.0), ("gross", 800.0 + 1.60 * volume)):
        await bench.weigh(mass_g, sample="26-0417", test="bulk density", item="fill", load=load)
    return volume


async def specimen(bench, label="a", fines_g=2.0, **run):
    """A specimen from charge to pan."""
    added = await bench.call(
        "add_specimen", sample="26-0417", label=label, target_psi=4000, cell="A"
    )
    await bench.weigh(39.52, test="crush", item="charge", specimen=added.specimen)
    for tick in Tick:
        if tick is Tick.ZEROED:
            await bench.reads_zero()
        await bench.call("tick", specimen=added.specimen, what=tick.value)
    number = await bench.crushed(added.specimen, **run)
    for load, mass_g in (("tare", 112.0), ("gross", 112.0 + fines_g)):
        await bench.weigh(mass_g, test="crush", item="pan", load=load, specimen=added.specimen)
    return added.specimen, number


def test_a_sample_is_walked_from_receipt_to_report(on_bench):
    async def walk(bench):
        await bench.receive(tests=["sieve analysis", "bulk density", "crush", "turbidity"])
        assert [step.step for step in await bench.steps()] == [
            Step.WEIGH, Step.CHOOSE_CYLINDER, Step.PLAN, Step.ENTER,
        ]  # fmt: skip
        # 24.7 cm3 of 1.60 g/cm3 (from memory: ISO 13503-2:2006 11.5).
        await bench.cylinder()
        done = 0
        while True:
            steps = await bench.steps()
            if not steps:
                return done, await bench.record()
            await follow(bench, steps[0])
            done += 1

    done, record = on_bench(walk)
    assert done > 40
    assert record.state is SampleState.REPORTED
    assert record.sieving.analysis.conforms
    assert record.density.bulk_density_g_cm3 == pytest.approx(1.60, abs=0.01)
    assert [one.because for one in record.specimens] == ["its run is within every limit"] * 3
    assert [fines for _, fines in record.counted] == [pytest.approx(5.06, abs=0.01)] * 3
    assert record.evidence.found.crush_class == "4K"
    assert record.operators == ("KL",)
    assert (record.reviews[0].operator, record.reports[0].revision) == ("MM", 1)
    assert record.chain.records > 50


async def follow(bench, step):  # noqa: C901 - each kind of step once
    """Do what a step asks, as an operator would."""
    whose = {"specimen": step.specimen} if step.specimen else {"sample": "26-0417"}
    match step.step:
        case Step.WEIGH:
            place = step.place
            named = {"test": place.test, "item": place.item, "load": place.load.value}
            await bench.weigh(MASSES.get((place.test, place.item, place.load)) or
                              MASSES[place.test, place.load], **named, **whose)  # fmt: skip
        case Step.CHOOSE_CYLINDER:
            await bench.call("choose_cylinder", **whose, cylinder="C1")
        case Step.PLAN:
            await bench.call("plan_stress", **whose, stress_psi=4000)
        case Step.ADD_SPECIMEN:
            await bench.call("add_specimen", **whose, label="a", target_psi=step.stress_psi)
        case Step.TICK:
            if step.tick is Tick.ZEROED:
                await bench.reads_zero()
            await bench.call("tick", **whose, what=step.tick.value)
        case Step.CRUSH:
            await bench.crushed(step.specimen)
        case Step.SHAKE:
            await bench.call("start_shaking", **whose)
        case Step.ENTER:
            await bench.call("enter_value", **whose, what=step.what, value=60)
        case Step.REVIEW:
            await bench.call("review_sample", **whose, operator="MM")
        case Step.REPORT:
            await bench.call("issue_report", **whose)


MASSES = {
    ("sieve analysis", "charge", "net"): 100.0,
    ("sieve analysis", "tare"): 400.0,
    ("sieve analysis", "gross"): 400.0,
    ("sieve analysis", "30", "gross"): 425.0,
    ("sieve analysis", "35", "gross"): 440.0,
    ("sieve analysis", "40", "gross"): 435.0,
    ("bulk density", "tare"): 800.0,
    ("bulk density", "gross"): 960.2,
    ("crush", "charge", "net"): 39.5,
    ("crush", "tare"): 112.0,
    ("crush", "gross"): 114.0,
}


def test_a_zeroed_load_is_ticked_only_on_a_zero_that_was_read_since_the_last_run(on_bench):
    async def walk(bench):
        await bench.receive()
        ticked = {"specimen": 1, "what": Tick.ZEROED.value}
        for label in "ab":
            await bench.call("add_specimen", sample="26-0417", label=label, target_psi=4000)
        refused = pytest.raises(CommandRefused, match="no zero of the load was read since the last")
        with refused:
            await bench.call("tick", **ticked)
        # A zero that a person typed, and one that has moved too far, were not taken.
        await bench.call("make_daily_check", rule="load zero", measured=3, expected=0, base=50_000)
        await bench.reads_zero(verdict="failed", off_lbf=90.0)
        with refused:
            await bench.call("tick", **ticked)
        zero = await bench.reads_zero()
        assert (await bench.call("tick", **ticked)).zero == zero
        await bench.crushed(2)
        with refused:
            await bench.call("tick", **ticked)
        await bench.reads_zero()
        bench.clock.advance(12 * 3600 + 1)
        with refused:
            await bench.call("tick", **ticked)
        # What the bench can't see, and a tick that is taken back, need no zero.
        assert (await bench.call("tick", specimen=1, what=Tick.LEVEL.value)).zero is None
        assert (await bench.call("tick", **ticked, done=False)).zero is None

    on_bench(walk)


def test_a_charge_off_its_target_is_refused_with_the_target(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("add_specimen", sample="26-0417", label="a", target_psi=4000)
        place = {"test": "crush", "item": "charge", "specimen": 1}
        with pytest.raises(CommandRefused, match=r"39\.900 g, \+0\.380 g off its target of"):
            await bench.weigh(39.9, **place)
        bench.show(39.0)
        with pytest.raises(CommandRefused, match=r"expected it within 0\.1 g"):
            await bench.call("weigh", **place)
        bench.show(39.6)
        kept = await bench.call("weigh", **place)
        with pytest.raises(CommandRefused, match="off its target"):
            await bench.call("correct_mass", corrects=kept.record, mass_g=38.0, reason="misread")
        return kept

    assert isinstance(on_bench(walk), MassTaken)


def test_a_charge_off_its_target_is_kept_for_a_reason_that_the_report_finds(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("add_specimen", sample="26-0417", label="a", target_psi=4000)
        place = {"test": "crush", "item": "charge", "specimen": 1}
        kept = await bench.weigh(39.9, anyway="no more sample", **place)
        assert (kept.anyway, kept.reason) == ("no more sample", None)
        corrected = await bench.call(
            "correct_mass", corrects=kept.record, mass_g=39.8, reason="misread", anyway="no more"
        )
        assert (corrected.anyway, corrected.reason) == ("no more", "misread")
        return (await bench.record()).specimens[0].findings

    (found,) = on_bench(walk)
    assert found == "charge +0.280 g off its target of 39.520 g, kept by KL: no more"


def test_charges_heavier_than_what_the_cut_kept_are_kept_for_a_reason_only(on_bench):
    async def walk(bench):
        await bench.receive(tests=["cut", "crush"])
        for item, mass_g in (("sieved", 60.0), ("kept", 50.0), ("discarded", 9.9)):
            await bench.weigh(mass_g, sample="26-0417", test="cut", item=item)
        for label in "ab":
            await bench.call("add_specimen", sample="26-0417", label=label, target_psi=4000)
        place = {"test": "crush", "item": "charge"}
        await bench.weigh(39.5, specimen=1, **place)
        refused = r"charges weigh 79\.000 g in all, more than the 50\.000 g that the cut kept: "
        with pytest.raises(CommandRefused, match=refused) as told:
            await bench.weigh(39.5, specimen=2, **place)
        assert len(str(told.value)) < 200
        await bench.weigh(39.5, specimen=2, anyway="a second cut, not weighed", **place)
        record = await bench.record()
        assert record.cut.left_g == 0.0
        return record.cut.contradictions

    (said,) = on_bench(walk)
    assert said == "the charges weigh 79.000 g in all, more than the 50.000 g that the cut kept"


def test_more_in_a_pan_than_its_charge_is_refused_although_one_insists(on_bench):
    async def walk(bench):
        await bench.call("add_specimen", label="a", target_psi=4000)
        place = {"test": "crush", "specimen": 1}
        await bench.weigh(39.5, item="charge", **place)
        await bench.weigh(112.0, item="pan", load="tare", **place)
        with pytest.raises(CommandRefused, match=r"40\.000 g in the pan is more than the charge"):
            await bench.weigh(152.0, item="pan", load="gross", anyway="so it is", **place)

    on_bench(walk)


def test_a_mass_that_has_not_changed_is_kept_again_only_for_a_reason(on_bench):
    async def walk(bench):
        await bench.receive()
        place = {"sample": 1, "test": "preparation"}
        await bench.weigh(500.0, item="received", **place)
        bench.show(500.004)  # draught
        with pytest.raises(CommandRefused, match=r"500 g is kept already .*: empty it, then weigh"):
            await bench.call("weigh", item="split", **place)
        same = await bench.call("weigh", item="split", anyway="nothing was split off", **place)
        bench.show(500.2)
        other = await bench.call("weigh", item="washed", **place)
        bench.show(None, MassState.UNDERLOAD)
        bench.show(500.2)
        again = await bench.call("weigh", item="dried", **place)
        return same.mass_g, other.mass_g, again.mass_g

    assert on_bench(walk) == (500.004, 500.2, 500.2)


def test_a_mass_keeps_its_line_and_one_entered_by_hand_has_none(on_bench):
    async def walk(bench):
        await bench.receive()
        place = {"sample": 1, "test": "preparation"}
        return (
            await bench.weigh(512.25, item="received", **place),
            await bench.call("weigh", item="split", mass_g=101.5, **place),
        )

    captured, entered = on_bench(walk)
    assert (captured.mass_g, captured.line) == (512.25, b"S S    512.250 g")
    assert (entered.mass_g, entered.line) == (101.5, None)


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ({"test": "lunch", "item": "x"}, "nothing is weighed for 'lunch'"),
        ({"test": "sieve analysis", "item": "41"}, "has no '41' to weigh"),
        ({"test": "crush", "item": "charge"}, "expected a specimen's number"),
        ({"test": "bulk density", "item": "fill", "specimen": 1}, "specimen's number with crush"),
        ({"test": "sieve analysis", "item": "20", "sample": "26-9"}, "there is no sample 26-9"),
        ({"test": "sieve analysis", "item": "20", "sample": None}, "for a sample: expected its"),
    ],
)
def test_a_place_where_nothing_is_weighed_is_refused(on_bench, place, told):
    async def walk(bench):
        await bench.receive()
        bench.show(1.0)
        with pytest.raises(InputError, match=told):
            await bench.call("weigh", **{"sample": "26-0417"} | place)

    on_bench(walk)


@pytest.mark.parametrize(
    ("state", "told"),
    [
        (MassState.MOVING, "the balance is moving: wait until it is stable"),
        (MassState.OVERLOAD, "the balance is in overload: take some of it off"),
        (MassState.UNDERLOAD, "the balance is in underload: put its pan on"),
        (MassState.GARBLED, "the balance says b'S S .*: see what is wrong with it"),
    ],
)
def test_what_is_not_stable_is_not_kept(on_bench, state, told):
    async def walk(bench):
        await bench.receive()
        bench.show(1.0, state)
        with pytest.raises(CommandRefused, match=told):
            await bench.call("weigh", sample="26-0417", test="preparation", item="split")
        return await bench.record()

    assert on_bench(walk).masses == ()


def test_a_gross_lighter_than_its_tare_is_refused(on_bench):
    async def walk(bench):
        await bench.receive()
        place = {"sample": "26-0417", "test": "sieve analysis", "item": "30"}
        await bench.weigh(400.0, load="tare", **place)
        with pytest.raises(CommandRefused, match=r"399\.9 g is lighter than its tare, 400 g"):
            await bench.weigh(399.9, load="gross", **place)
        with pytest.raises(CommandRefused, match="net or by tare and gross, not both"):
            await bench.weigh(12.0, load="net", **place)

    on_bench(walk)


def test_a_corrected_mass_stands_and_the_old_one_stays(on_bench):
    async def walk(bench):
        await bench.receive()
        place = {"sample": "26-0417", "test": "preparation", "item": "split"}
        wrong = await bench.weigh(101.0, **place)
        right = await bench.call(
            "correct_mass", corrects=wrong.record, mass_g=110.0, reason="digits swapped"
        )
        with pytest.raises(CommandRefused, match=f"mass {right.record} stands"):
            await bench.call("correct_mass", corrects=wrong.record, mass_g=1.0, reason="again")
        return await bench.record()

    record = on_bench(walk)
    assert record.preparation.split_g == 110.0
    assert [one.mass_g for one in record.masses] == [101.0, 110.0]
    (correction,) = record.corrections
    assert (correction.reason, correction.operator, correction.corrects) == (
        "digits swapped",
        "KL",
        2,
    )


def test_a_run_that_failed_counts_only_by_a_persons_decision(on_bench):
    async def walk(bench):
        await to_density(bench)
        number, run = await specimen(bench, fails=True)
        before = await bench.record()
        (step,) = [one for one in await bench.steps() if one.specimen == number]
        assert (step.step, step.run) == (Step.DECIDE, run)
        await bench.call("decide_run", run=run, counts=True, reason="the seal wept, hold was full")
        return before, await bench.record()

    before, after = on_bench(walk)
    assert before.counted == ()
    assert before.specimens[0].because == (
        "run 1 failed its assessment, and nobody has decided that it counts"
    )
    assert after.counted == ((4000.0, pytest.approx(5.06, abs=0.01)),)
    assert "counts, decided by KL: the seal wept" in after.specimens[0].because
    assert after.specimens[0].findings[0].startswith("run 1 failed its assessment:")


def test_a_good_run_may_be_decided_not_to_count(on_bench):
    async def walk(bench):
        await to_density(bench)
        _, run = await specimen(bench)
        await bench.call("decide_run", run=run, counts=False, reason="wrong cell")
        return await bench.record()

    record = on_bench(walk)
    assert record.counted == ()
    assert record.specimens[0].because == "run 1 does not count, decided by KL: wrong cell"


def test_a_specimen_is_left_out_by_a_person_with_a_reason_and_taken_in_again(on_bench):
    async def walk(bench):
        await to_density(bench)
        number, _ = await specimen(bench)
        act = {"specimen": number, "operator": "MM"}
        await bench.call("decide_exclusion", excluded=True, reason="spilled", **act)
        out = await bench.record()
        with pytest.raises(CommandRefused, match="specimen 1 is left out already"):
            await bench.call("decide_exclusion", excluded=True, reason="x", **act)
        await bench.call("decide_exclusion", excluded=False, reason="another pan", **act)
        with pytest.raises(CommandRefused, match="specimen 1 is not left out"):
            await bench.call("decide_exclusion", excluded=False, reason="x", **act)
        return out, await bench.record()

    out, again = on_bench(walk)
    assert (out.counted, out.specimens[0].because) == ((), "left out by MM: spilled")
    assert len(again.counted) == 1
    assert [(one.excluded, one.reason) for one in again.exclusions] == [
        (True, "spilled"), (False, "another pan"),
    ]  # fmt: skip


def test_an_excluded_specimen_makes_room_for_another(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("plan_stress", sample="26-0417", stress_psi=4000, replicates=1)
        number, _ = await specimen(bench)
        assert Step.ADD_SPECIMEN not in {one.step for one in await bench.steps()}
        await bench.call("decide_exclusion", specimen=number, excluded=True, reason="spilled")
        return await bench.steps()

    assert [one.text for one in on_bench(walk) if one.step is Step.ADD_SPECIMEN] == [
        "add specimen 1 of 1 at 4000 psi"
    ]


def test_only_the_run_that_is_judged_is_decided_on(on_bench):
    async def walk(bench):
        await bench.receive()
        await bench.call("add_specimen", sample=1, label="a", target_psi=4000)
        first, second = await bench.crushed(1, fails=True), await bench.crushed(1)
        with pytest.raises(CommandRefused, match="run 1 is not judged: run 2 of its specimen is"):
            await bench.call("decide_run", run=first, counts=True, reason="x")
        await bench.call("decide_run", run=second, counts=True, reason="x")
        with pytest.raises(InputError, match="there is no run 9"):
            await bench.call("decide_run", run=9, counts=True, reason="x")
        return await bench.record()

    assert on_bench(walk).specimens[0].findings[-1] == "loaded before: run 1 was stopped"


def test_nobody_reviews_what_he_wrote_himself(on_bench):
    async def walk(bench):
        await bench.receive()
        with pytest.raises(CommandRefused, match="nothing of this sample has been tested yet"):
            await bench.call("review_sample", sample="26-0417", operator="MM")
        await bench.weigh(1.0, sample="26-0417", test="preparation", item="split")
        with pytest.raises(CommandRefused, match="kl recorded part of this sample"):
            await bench.call("review_sample", sample="26-0417", operator="kl")
        with pytest.raises(CommandRefused, match="is in test: have it reviewed first"):
            await bench.call("issue_report", sample="26-0417")
        await bench.call("review_sample", sample="26-0417", operator="MM")
        await bench.call("issue_report", sample="26-0417", sha256="0" * 64)
        await bench.weigh(2.0, sample="26-0417", test="preparation", item="dried")
        assert (await bench.record()).state is SampleState.IN_TEST
        await bench.call("review_sample", sample="26-0417", operator="MM")
        with pytest.raises(InputError, match="revision 2 supersedes another: expected what"):
            await bench.call("issue_report", sample="26-0417")
        await bench.call("issue_report", sample="26-0417", changes="wash loss added")
        return await bench.record()

    record = on_bench(walk)
    assert [(one.revision, one.changes) for one in record.reports] == [
        (1, ""), (2, "wash loss added"),
    ]  # fmt: skip
    assert record.state is SampleState.REPORTED


def test_a_statement_about_a_sample_is_corrected_with_a_reason(on_bench):
    async def walk(bench):
        await bench.receive()
        act = {"sample": "26-0417", "reason": "label misread"}
        await bench.call("correct_sample", field="size", value="30/50", **act)
        await bench.call("correct_sample", field="tests", value="crush, turbidity", **act)
        for field, value, told in (
            ("size", "20/41", "no size of proppant"),
            ("edition", "API RP 61", "no edition known here"),
            ("material", "gravel", "material can't be 'gravel'"),
            ("tests", "lunch", "'lunch' is no known test"),
            ("laboratory_number", "26-0418", "needs a new sample"),
        ):
            with pytest.raises(InputError, match=told):
                await bench.call("correct_sample", field=field, value=value, **act)
        return await bench.record()

    record = on_bench(walk)
    assert (record.sample.size, record.sample.tests) == ("30/50", ("crush", "turbidity"))
    assert [one.field for one in record.corrections] == ["size", "tests"]
    assert record.sieving.missing == (*map(str, find_size("30/50").stack), "pan")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"size": "20/41"}, "no size of proppant"),
        ({"edition": "API RP 61"}, "no edition known here"),
        ({"edition": "API RP 56", "use": "gravel pack"}, "has no limits for 'gravel pack'"),
        ({"tests": ["lunch"]}, "'lunch' is no known test"),
    ],
)
def test_a_sample_that_can_not_be_tested_as_it_says_is_not_received(on_bench, changes, told):
    async def walk(bench):
        with pytest.raises(InputError, match=told):
            await bench.receive(**changes)
        return (await bench.call("samples")).samples

    assert on_bench(walk) == ()


def test_a_stress_that_the_bench_can_not_reach_is_not_planned(on_bench):
    async def walk(bench):
        await bench.receive()
        with pytest.raises(InputError, match="over the rating of the sensor"):
            await bench.call("plan_stress", sample=1, stress_psi=14_000)
        for replicates in (3, 0):
            await bench.call("plan_stress", sample=1, stress_psi=4000, replicates=replicates)
        return await bench.record()

    assert on_bench(walk).plan == ()


def test_the_next_stress_halves_what_is_left_of_the_class(on_bench):
    async def walk(bench):
        await to_density(bench)
        first = await bench.call("next_stress", sample="26-0417")
        for label, fines_g in (("a", 2.0), ("b", 2.2)):
            await specimen(bench, label, fines_g)
        return first, await bench.call("next_stress", sample="26-0417")

    first, second = on_bench(walk)
    # Bisection of 1 to 15 thousand psi: the middle one first, then one of those above 4000.
    assert (first.stress_psi, first.crush_class, first.probability) == (8000, None, None)
    assert second.stress_psi > 4000
    assert second.crush_class == "4K"
    assert second.reason == "11 stresses are still open"


def test_an_edition_without_classes_suggests_one_stress(on_bench):
    async def walk(bench):
        await bench.receive(edition="API RP 56")
        await bench.receive("26-0418", edition="API RP 56", size="16/20")
        return [await bench.call("next_stress", sample=number) for number in (1, 2)]

    known, unknown = on_bench(walk)
    # From memory: API RP 56 9.4, 4000 psi for 20/40; it has no 16/20.
    assert (known.stress_psi, known.specimens, known.crush_class) == (4000, 3, None)
    assert (unknown.stress_psi, unknown.specimens) == (None, 0)


def test_a_laboratorys_own_edition_goes_into_the_record_and_a_later_change_of_its_file_does_not(
    on_bench, tmp_path
):
    file = tmp_path / "ours.toml"
    packaged = packaged_text("API STD 19C:2018")
    ours = packaged.replace("fines_pct = 10.0", "fines_pct = 8.0").replace(
        "time_s = 120", "time_s = 180"
    )
    file.write_text(ours)

    async def walk(bench):
        await bench.receive()
        file.write_text(packaged.replace("fines_pct = 10.0", "fines_pct = 7.0"))
        await bench.receive("26-0418", edition="API STD 19C:2018")
        await bench.receive("26-0419", edition="API RP 19C:2008")
        correct = {"sample": "26-0418", "field": "edition", "reason": "the client's wish"}
        await bench.call("correct_sample", value="ISO 13503-2:2006", **correct)
        file.unlink()
        with pytest.raises(ConfigError, match=r"ours.toml can't be read"):
            await bench.receive("26-0420")
        return [await bench.record(f"26-04{number}") for number in (17, 18, 19)]

    own, corrected, other = on_bench(walk, worksheet=WorksheetConfig(edition=str(file)))
    assert own.edition.name == "API STD 19C:2018"
    assert (own.edition.class_fines_pct, own.edition.hold_s) == (8, 180)
    assert own.received.edition_file == ours
    assert edition_file_words(own.sample) == (
        f"the laboratory's own file, SHA-256 {edition_sha256(ours)}"
    )
    assert "fines_pct = 7.0" in corrected.received.edition_file
    assert (corrected.sample.edition_file, corrected.edition.class_fines_pct) == ("", 10)
    assert (other.sample.edition_file, other.edition.class_fines_pct) == ("", 10)
    assert edition_file_words(other.sample) == (
        f"the program's file, SHA-256 {edition_sha256(packaged_text('API RP 19C:2008'))}"
    )


def test_the_volume_of_a_cylinder_follows_from_the_water_in_it(on_bench):
    async def walk(bench):
        with pytest.raises(CommandRefused, match="weigh it empty"):
            await bench.call("calibrate_cylinder", cylinder="C1", temp_c=20)
        first = await bench.cylinder(99.8)
        await bench.receive()
        with pytest.raises(InputError, match="cylinder 'C2' was never calibrated: there is C1"):
            await bench.call("choose_cylinder", sample=1, cylinder="C2")
        chosen = await bench.call("choose_cylinder", sample=1, cylinder="C1")
        return first, chosen, await bench.cylinder(99.9)

    first, chosen, second = on_bench(walk)
    # Water of 0.99820 g/cm3 at 20 C, weighed in air of 0.0012 (from memory): 100.085 cm3.
    assert first.volume_cm3 == pytest.approx(100.085, abs=0.005)
    assert (chosen.calibration, chosen.volume_cm3) == (first.record, first.volume_cm3)
    assert second.volume_cm3 > first.volume_cm3


def test_an_entered_value_is_held_against_its_limit_and_corrected_like_a_mass(on_bench):
    async def walk(bench):
        await bench.receive()
        act = {"sample": "26-0417"}
        wrong = await bench.call("enter_value", what="turbidity", value=300, **act)
        with pytest.raises(CommandRefused, match=f"record {wrong.record} stands: correct that one"):
            await bench.call("enter_value", what="turbidity", value=30, **act)
        await bench.call("enter_value", what="turbidity", value=30, corrects=wrong.record,
                         reason="typed a nought too many", **act)  # fmt: skip
        await bench.call("enter_value", what="roundness", counts=[[0.5, 10], [0.7, 10]], **act)
        for bad in (
            {"what": "colour", "value": 1},
            {"what": "turbidity"},
            {"what": "sphericity", "value": 0.7, "counts": [[0.7, 20]]},
            {"what": "sphericity", "counts": [[7, 20]]},
            {"what": "sphericity", "value": 7},
            {"what": "sphericity", "values": [0.7, 7]},
        ):
            with pytest.raises(InputError):
                await bench.call("enter_value", **bad, **act)
        return await bench.record()

    turbidity, roundness = on_bench(walk).properties
    assert (turbidity.value, turbidity.passes) == (30, True)
    assert (roundness.value, roundness.passes, roundness.findings) == (0.6, True, ())


def test_the_bench_keeps_its_own_book(on_bench):
    async def walk(bench):
        await bench.call("make_daily_check", rule="load zero", measured=30, expected=0, base=50_000)
        with pytest.raises(InputError, match="'mood' is no daily check"):
            await bench.call("make_daily_check", rule="mood", measured=1, expected=0, base=1)
        await bench.call("check_equipment", equipment="cell", name="A", finding="bore measured",
                         measured=2.002, nominal=2.0)  # fmt: skip
        with pytest.raises(InputError, match="expected both its measure and its nominal one"):
            await bench.call("check_equipment", equipment="cell", name="A", finding="x", measured=2)
        return await bench.call("bench_record")

    book = on_bench(walk)
    # Ours: 0.05 % of the range warns, 0.1 % fails; 30 of 50 000 is 0.06 %.
    assert [one.verdict for one in book.checks] == ["warning"]
    assert [one.check.name for one in book.equipment] == ["A"]


SIEVE = {"equipment": "sieve", "name": "A", "sieve": 40, "finding": "no tears"}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"sieve": None}, "sieve A: expected its US number"),
        ({"sieve": 41}, "there is no sieve No. 41"),
        ({"measured": 0.5}, "0.5 mm: expected 0.425 mm to within 0.031 mm for No. 40"),
        ({"measured_u": 0.001}, "an uncertainty needs its measured mean opening"),
        ({"due": "2027-02-30"}, "due on 2027-02-30: expected a day"),
        ({"due": "next year"}, "due: expected a day such as 2027-03-31"),
        ({"equipment": "cell"}, "a cell has no number, openings or spread of a sieve"),
    ],
)
def test_a_sieve_that_can_not_be_one_is_refused(on_bench, changes, said):
    async def walk(bench):
        with pytest.raises(InputError, match=re.escape(said)):
            await bench.call("check_equipment", **SIEVE | changes)
        return await bench.call("bench_record")

    assert on_bench(walk).equipment == ()


def test_a_sample_is_cut_and_sieved_on_sieves_of_the_bench(on_bench):
    async def walk(bench):
        await bench.receive()
        cut = {"sample": "26-0417", "use": "cut"}
        with pytest.raises(InputError, match=r"no sieve 'A' of No\. 40 is in use: there is none"):
            await bench.call("choose_sieve", **cut, serial="A")
        for serial, sieve in (("A", 40), ("C", 50)):
            await bench.call("check_equipment", **SIEVE | {"name": serial, "sieve": sieve,
                             "measured": 0.4262 if sieve == 40 else 0.301})  # fmt: skip
        with pytest.raises(InputError, match=r"no sieve 'C' of No\. 40 is in use: there is A"):
            await bench.call("choose_sieve", **cut, serial="C")
        chosen = await bench.call("choose_sieve", **cut, serial="A")
        await bench.call("check_equipment", **SIEVE | {"usable": False, "finding": "torn"})
        with pytest.raises(InputError, match="there is none"):
            await bench.call("choose_sieve", **cut, serial="A")
        return chosen, await bench.record()

    chosen, record = on_bench(walk)
    assert (chosen.sieve, chosen.check, chosen.opening_mm) == (40, 2, 0.4262)
    assert record.sieves == (chosen,)


def test_a_sieving_counts_for_the_sieve_that_was_chosen_and_a_cut_for_its_own(on_bench):
    async def walk(bench):
        await to_density(bench)
        for serial in ("A", "B"):
            await bench.call("check_equipment", **SIEVE | {"name": serial})
        bench.clock.advance(60)
        await specimen(bench)  # nobody said on which sieve: it counts for both
        await bench.call("choose_sieve", sample="26-0417", use="after the crush", serial="B")
        await specimen(bench, "b")
        await bench.call("choose_sieve", sample="26-0417", use="cut", serial="A")
        return (await bench.call("bench_record")).equipment

    assert {one.check.name: one.uses for one in on_bench(walk)} == {"A": 2, "B": 2}


def test_a_blank_is_planned_weighed_and_never_crushed(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("plan_stress", sample="26-0417", stress_psi=0, replicates=1)
        blank = await bench.call("add_specimen", sample="26-0417", label="x", target_psi=0)
        await bench.weigh(39.52, test="crush", item="charge", specimen=blank.specimen)
        for load, mass_g in (("tare", 112.0), ("gross", 112.1)):
            await bench.weigh(mass_g, test="crush", item="pan", load=load, specimen=blank.specimen)
        return await bench.record()

    record = on_bench(walk)
    assert [round(one.fines_pct, 2) for one in record.blanks] == [0.25]
    assert record.counted == ()


def test_a_blank_through_two_sieves_stands_for_later_samples_on_them(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("check_equipment", **SIEVE)
        for number in ("26-0417", "26-0418"):
            if number == "26-0418":
                await bench.receive(number)
            for use in ("cut", "after the crush"):
                await bench.call("choose_sieve", sample=number, use=use, serial="A")
        blank = await bench.call("add_specimen", sample="26-0417", label="x", target_psi=0)
        for item, load, mass_g in (
            ("charge", "net", 39.52), ("pan", "tare", 112.0), ("pan", "gross", 112.1),
        ):  # fmt: skip
            await bench.weigh(mass_g, test="crush", item=item, load=load, specimen=blank.specimen)
        later = await bench.call("add_specimen", sample="26-0418", label="y", target_psi=4000)
        record = await bench.store.run(lambda store: store.samples.record(2))
        return record, later.specimen

    record, number = on_bench(walk)
    (one,) = (held for held in record.specimens if held.number == number)
    assert [blank.sample for blank in record.blanks_for(one)] == [1]


def test_the_control_sand_is_charted_by_press_cell_and_operator(on_bench):
    async def walk(bench):
        await to_density(bench)
        await bench.call("add_sample", laboratory_number="Q-1", client_reference="control sand",
                         size="20/40", role="control")  # fmt: skip
        for fines_g in (2.0, 2.1, 2.0):
            added = await bench.call(
                "add_specimen", sample="Q-1", label="q", target_psi=4000, cell="A"
            )
            await bench.weigh(39.5, test="crush", item="charge", specimen=added.specimen)
            await bench.crushed(added.specimen)
            await bench.weigh(fines_g, test="crush", item="pan", specimen=added.specimen)
        await specimen(bench)
        asked = {"stress_psi": 4000, "press": "press 1"}
        return [
            await bench.call("control_chart", **asked, cell="A", operator="KL"),
            await bench.call("control_chart", **asked, cell="B"),
        ]

    chart, other = on_bench(walk)
    assert [round(point.fines_pct, 2) for point in chart.points] == [5.06, 5.32, 5.06]
    assert [(day.n, round(day.mean_pct, 3)) for day in chart.days] == [(3, 5.148)]
    assert (chart.chart, chart.judged) == (None, ())
    assert (other.points, other.chart) == ((), None)


def test_a_signal_of_the_control_chart_asks_until_it_is_answered(on_bench):
    async def walk(bench):
        await to_density(bench)
        for day in range(BASE_DAYS + 1):
            number = f"Q-{day}"
            await bench.call("add_sample", laboratory_number=number, client_reference="control",
                             size="20/40", role="control")  # fmt: skip
            added = await bench.call("add_specimen", sample=number, label="q", target_psi=4000)
            await bench.weigh(39.5, test="crush", item="charge", specimen=added.specimen)
            await bench.crushed(added.specimen)
            pan_g = 8.0 if day == BASE_DAYS else 2.0 + day % 2 / 10
            await bench.weigh(pan_g, test="crush", item="pan", specimen=added.specimen)
        asking = await bench.call("control_chart", stress_psi=4000)
        with pytest.raises(CommandRefused, match="is a client's: expected a control sample"):
            await bench.call("answer_control", sample=1, finding="x")
        await bench.call("answer_control", sample=number, finding="sieve 40 was torn; replaced")
        return asking, await bench.call("control_chart", stress_psi=4000)

    asking, answered = on_bench(walk)
    assert [one.signal for one in asking.judged] == ["a day beyond 4.5 deviations"]
    assert [asking.unanswered(one) for one in asking.judged] == [True]
    assert [answered.unanswered(one) for one in answered.judged] == [False]
    assert answered.days[-1].answer == "KL: sieve 40 was torn; replaced"


def test_the_shaker_runs_for_a_sample_or_a_specimen(on_bench):
    async def walk(bench):
        await bench.receive()
        await bench.call("add_specimen", sample=1, label="a", target_psi=4000)
        with pytest.raises(InputError, match="for a sample or for a specimen"):
            await bench.call("start_shaking")
        with pytest.raises(InputError, match="for a sample or for a specimen"):
            await bench.call("start_shaking", sample=1, specimen=1)
        return (
            await bench.call("start_shaking", specimen=1),
            await bench.call("start_shaking", sample=1, planned_s=300),
        )

    crush, sieves = on_bench(walk)
    # From memory: 10 minutes, ISO 13503-2:2006 clauses 6 and 11.
    assert (crush.planned_s, crush.sample, crush.specimen) == (600, 1, 1)
    assert (sieves.planned_s, sieves.specimen) == (300, None)


def test_a_specimen_of_no_sample_is_weighed_as_any_other(on_bench):
    async def walk(bench):
        await bench.call("add_specimen", label="a", target_psi=4000)
        place = {"test": "crush", "specimen": 1}
        for item, load, mass_g in (
            ("charge", "net", 39.5),
            ("pan", "tare", 112.0),
            ("pan", "gross", 114.0),
        ):
            await bench.weigh(mass_g, item=item, load=load, **place)
        with pytest.raises(CommandRefused, match="charge of specimen 1 is there already"):
            await bench.weigh(39.5, item="charge", **place)
        return await bench.store.run(lambda store: store.records.of_sample(None))

    added, *masses = on_bench(walk)
    assert (added.specimen, added.press) == (1, CONFIG.bench)
    assert [(one.item, one.mass_g) for one in masses] == [
        ("charge", 39.5), ("pan", 112.0), ("pan", 114.0),
    ]  # fmt: skip


def test_a_specimen_in_a_cell_of_another_bore_than_the_benchs_is_refused(on_bench):
    async def walk(bench):
        await bench.receive()
        with pytest.raises(CommandRefused, match=r"a bore of 1.5 in, .* has 2 in: expected that"):
            await bench.call(
                "add_specimen", sample="26-0417", label="a", target_psi=4000, bore_in=1.5
            )

    on_bench(walk)


def test_a_bench_asks_for_as_many_fills_of_the_cylinder_as_its_configuration_says(on_bench):
    async def walk(bench):
        return [(await bench.receive(number, **given)).density_fills
                for number, given in (("26-1", {}), ("26-2", {"density_fills": 2}))]  # fmt: skip

    assert on_bench(walk, worksheet=WorksheetConfig(density_fills=3)) == [3, 2]


def test_a_test_names_its_instrument_with_the_certificate_that_it_had_then(on_bench):
    async def walk(bench):
        await bench.receive(tests=["turbidity"])
        checked = {"equipment": "instrument", "test": "turbidity", "finding": "calibrated"}
        await bench.call("check_equipment", name="T-1", certificate="TB-26-04", **checked)
        await bench.call("check_equipment", name="T-2", usable=False, **checked)
        given = {"sample": "26-0417", "test": "turbidity"}
        for wrong in ("T-2", "T-3"):
            with pytest.raises(InputError, match="for 'turbidity' is in use: there is T-1"):
                await bench.call("choose_instrument", instrument=wrong, **given)
        kept = await bench.call("choose_instrument", instrument="T-1", **given)
        await bench.call("check_equipment", name="T-1", certificate="TB-27-01", **checked)
        return kept, await bench.record()

    kept, record = on_bench(walk)
    assert (kept.test, kept.certificate) == ("turbidity", "TB-26-04")
    assert record.instruments == {"turbidity": kept}
    uses = {state.check.name: state.uses for state in record.bench.equipment}
    assert uses == {"T-1": 0, "T-2": 0}  # since its newest check


@pytest.mark.parametrize(
    "wrong",
    [
        {"equipment": "instrument"},
        {"equipment": "instrument", "test": "colour"},
        {"equipment": "instrument", "test": "turbidity", "measured": 1.0},
        {"equipment": "cell", "test": "turbidity"},
    ],
)
def test_an_instrument_has_a_test_that_needs_one_and_nothing_else_has(on_bench, wrong):
    async def walk(bench):
        with pytest.raises(InputError, match="instrument"):
            await bench.call("check_equipment", name="X", finding="found", **wrong)

    on_bench(walk)
