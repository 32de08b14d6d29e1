"""One specimen of the demo, from charge to fines, through the daemon's own methods."""

import asyncio
import functools
from collections.abc import AsyncIterator, Callable

from msgspec import Struct, structs

from ramphold.clock import NS_PER_S
from ramphold.control import (
    mass_methods,
    methods,
    run_methods,
    run_queries,
    sample_methods,
    specimen_methods,
)
from ramphold.core import ENDED, Assessment, Snapshot, StateChanged
from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.errors import CommandRefused
from ramphold.method import cell, charge
from ramphold.sample import CRUSH, Load, SpecimenAdded, WeighingPlace
from ramphold.text import assessment_lines, event_line

_SAMPLE = "DEMO-1"
_TARGET_PSI = 4000.0
_BULK_DENSITY_G_CM3 = 1.60
_PAN_G = 112.436
_SIEVE_S = 600.0
_SHOW_EVERY_NS = 15 * NS_PER_S
_LOADED = {Load.NET: "", Load.TARE: " empty", Load.GROSS: " full"}

Say = Callable[[str], None]


class DemoResult(Struct, frozen=True, kw_only=True):
    """The result of the demo; masses in g."""

    seed: int
    specimen: str
    charge_g: float
    pan_empty_g: float
    pan_full_g: float
    fines_pct: float
    state: str
    verdict: str
    peak_lbf: float | None
    ramp_rms_psi: float | None
    hold_s: float


async def crush_one_specimen(bench: SimulatedBench, seed: int, say: Say) -> DemoResult:
    """Weigh, crush and sieve one specimen.

    Args:
        bench: the bench.
        seed: the bench's seed, for the result.
        say: called with each line of the story.
    """
    await _say_recovery(bench, say)
    added = await _receive(bench, say)
    place = functools.partial(WeighingPlace, test=CRUSH, specimen=added.specimen)
    target_g = charge.by_density_g(_BULK_DENSITY_G_CM3)
    say(f"charge    wanted {target_g:.3f} g at {_BULK_DENSITY_G_CM3:.2f} g/cm3")
    weighed_out_g = bench.weighed_out_g(target_g)
    charge_g = await _weigh(bench, place(item="charge"), weighed_out_g, say)
    assessment = await _crush(bench, added.specimen, say)
    say("sieve     10 minutes")
    empty_g = await _weigh(bench, place(item="pan", load=Load.TARE), _PAN_G, say)
    await bench.pass_time(_SIEVE_S)
    on_pan_g = round(_PAN_G + bench.crushed_g(charge_g), 3)
    full_g = await _weigh(bench, place(item="pan", load=Load.GROSS), on_pan_g, say)
    sheet = await bench.ask(sample_methods.SAMPLE, sample=added.sample)
    crushed = next(one for one in sheet.record.specimens if one.added.specimen == added.specimen)
    fines_pct = crushed.fines_pct or 0.0
    say("")
    for line in assessment_lines(assessment):
        say(line)
    say(f"fines     {full_g - empty_g:.3f} g of {charge_g:.3f} g: {fines_pct:.2f} %")
    return DemoResult(
        seed=seed,
        specimen=added.label,
        charge_g=charge_g,
        pan_empty_g=empty_g,
        pan_full_g=full_g,
        fines_pct=fines_pct,
        state=assessment.state,
        verdict=assessment.verdict,
        peak_lbf=assessment.peak_lbf,
        ramp_rms_psi=assessment.ramp_rms_psi,
        hold_s=assessment.hold_s,
    )


async def _say_recovery(bench: SimulatedBench, say: Say) -> None:
    """Say what a demo that was killed in this folder left behind."""
    for number in bench.daemon.status().interrupted:
        run = (await bench.ask(run_queries.RUN, run=number)).run
        kept_s = ((run.ended_t_ns or run.started_t_ns) - run.started_t_ns) / NS_PER_S
        say(f"recovery  run {number} was interrupted: its readings up to {kept_s:.1f} s are kept")


async def _receive(bench: SimulatedBench, say: Say) -> SpecimenAdded:
    """The next specimen of an invented sample; others are left to the user."""
    bore_in = cell.STANDARD_BORE_IN
    say(f"specimen  a 20/40 sand at {_TARGET_PSI:.0f} psi, {bore_in:g} in. bore")
    there = (await bench.ask(sample_methods.SAMPLES)).samples
    if not any(one.sample.laboratory_number == _SAMPLE for one in there):
        await bench.receive_sand(_SAMPLE)
    sheet = await bench.ask(sample_methods.SAMPLE, sample=_SAMPLE)
    if not sheet.record.plan:
        await bench.ask(sample_methods.PLAN_STRESS, sample=_SAMPLE, stress_psi=_TARGET_PSI)
    return await bench.ask(
        specimen_methods.ADD_SPECIMEN,
        label=f"D-{len(sheet.record.specimens) + 1}",
        target_psi=_TARGET_PSI,
        sample=_SAMPLE,
    )


async def _weigh(bench: SimulatedBench, place: WeighingPlace, mass_g: float, say: Say) -> float:
    await bench.weigh(mass_g)
    mass = await bench.ask(mass_methods.WEIGH, **structs.asdict(place))
    line = (mass.line or b"").decode("ascii", "replace")
    what = f"{place.item}{_LOADED[place.load]}"
    say(f"balance   {what}: {mass.mass_g:.3f} g, from the line {line!r}")
    return mass.mass_g


async def _crush(bench: SimulatedBench, specimen: int, say: Say) -> Assessment:
    force_lbf = cell.force_lbf(_TARGET_PSI, cell.STANDARD_BORE_IN)
    ceiling_lbf = cell.default_ceiling_lbf(force_lbf, force_lbf * 2)
    say(f"press     pump to {force_lbf:.0f} lbf, stay under {ceiling_lbf:.0f} lbf")
    events = await bench.client.subscribe(run_methods.ON_EVENT)
    started = await bench.ask(run_methods.START_RUN, specimen=specimen)
    start_ns = bench.clock.now_ns()
    async with asyncio.TaskGroup() as group:
        group.create_task(_say_events(events, start_ns, say))
        shown_ns = start_ns
        while bench.daemon.press.live:
            snapshot = await bench.pump()
            if snapshot and snapshot.t_ns - shown_ns >= _SHOW_EVERY_NS:
                shown_ns = snapshot.t_ns
                say(_load_line(snapshot, start_ns))
        await bench.release_fully()
    ended = (await bench.ask(run_queries.RUN, run=started.run)).run
    if ended.assessment is None:
        raise CommandRefused(f"run {ended.id} is {ended.state}, without an assessment")
    return ended.assessment


async def _say_events(told: AsyncIterator[methods.Told], start_ns: int, say: Say) -> None:
    async for one in told:
        if isinstance(one, run_methods.RunEvent):
            if line := event_line(one.event, start_ns):
                say(line)
            if isinstance(one.event, StateChanged) and one.event.after in ENDED:
                return


def _load_line(snapshot: Snapshot, start_ns: int) -> str:
    t_s = (snapshot.t_ns - start_ns) / 1e9
    load = f"{round(snapshot.force_lbf or 0):8} lbf {round(snapshot.stress_psi or 0):7} psi"
    if snapshot.hold_s is not None:
        where = f"held {snapshot.hold_s:.1f} s"
    elif snapshot.deviation_psi is not None:
        where = f"{snapshot.deviation_psi:+.0f} psi off the line"
    else:
        where = ""
    cue = snapshot.cue.kind.value if snapshot.cue else ""
    return f"{t_s:8.1f} s            {load}   {cue:<13}{where}".rstrip()
