"""A trial given to the real daemon sets where its pacing starts, even after a restart."""

import asyncio

import pytest
from msgspec.structs import replace

from ramphold.control import bench_methods, run_methods, specimen_methods
from ramphold.core import TRIAL, PacingStart, judge_trial

pytestmark = pytest.mark.slow

START = PacingStart(gain_factor=1.37, scatter=0.8, sag_per_s=0.004)


async def planned(site):
    """The pacing start of a run that begins now."""
    async with site.connected() as client, site.sending():
        await site.load_is(client, "open")
        specimen = specimen_methods.AddSpecimenParams(label="s", target_psi=400, operator="ab")
        made = await client.call(specimen_methods.ADD_SPECIMEN, specimen)
        wanted = run_methods.StartRunParams(specimen=made.specimen, operator="ab")
        pacing = (await client.call(run_methods.START_RUN, wanted)).plan.pacing
        # Else the next daemon would take it up.
        end = run_methods.EndRunParams(reason="planned", operator="ab")
        await client.call(run_methods.END_RUN, end)
        return pacing


def test_a_trial_gives_the_pacing_of_every_later_run_its_start(site):
    async def body():
        site.start()
        trial = replace(judge_trial([(step, []) for step in TRIAL]), start=START)
        async with site.connected() as client:
            made = bench_methods.KeepTrialParams(operator="ab", trial=trial)
            kept = await client.call(bench_methods.KEEP_TRIAL, made)
        assert kept.file == str(site.folder / "press-trial.json")
        assert await planned(site) == START
        site.daemon.terminate()
        site.daemon.wait(5)
        site.start()
        assert await planned(site) == START

    asyncio.run(body())
