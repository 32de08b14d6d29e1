"""The whole daemon on its way up."""

import asyncio

import pytest

from ramphold.demo import SimulatedBench


@pytest.mark.slow
def test_what_is_recorded_before_anybody_can_listen_is_no_error(tmp_path):
    async def flow():
        failed = []
        asyncio.get_running_loop().set_exception_handler(lambda _, about: failed.append(about))
        # Its certificate is in the folder, and is written down on the way up.
        async with SimulatedBench(tmp_path, seed=1, speed=None):
            assert failed == []

    asyncio.run(flow())
