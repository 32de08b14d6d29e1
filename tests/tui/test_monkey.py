"""A monkey at the screen; `make bench-monkey` lets it work for much longer."""

import asyncio
import logging

import pytest

from support.monkey import Monkey

pytestmark = pytest.mark.slow


def test_keys_pastes_and_sizes_that_nobody_would_choose_break_nothing(tmp_path, caplog):
    async def body():
        async with Monkey.at_work(tmp_path, seed=1) as monkey:
            for _ in range(150):
                await monkey.do_one()
            return monkey

    monkey = asyncio.run(body())
    assert monkey.pressed.total() > 100
    assert monkey.pastes
    assert [one for one in caplog.records if one.levelno >= logging.ERROR] == []
