import asyncio

import pytest

from ramphold.control._mailbox import Mailbox
from ramphold.errors import LinkError


async def take(mailbox, count):
    return [await mailbox.get() for _ in range(count)]


def test_messages_are_taken_in_the_order_they_were_put():
    async def check():
        mailbox = Mailbox()
        for message in "abc":
            mailbox.put(message)
        assert await take(mailbox, 3) == ["a", "b", "c"]

    asyncio.run(check())


def test_a_newer_message_replaces_the_older_and_waits_behind_what_came_between():
    async def check():
        mailbox = Mailbox()
        mailbox.put("load 1", replaces="load")
        mailbox.put("mass 1", replaces="mass")
        mailbox.put("over ceiling")
        mailbox.put("load 2", replaces="load")
        mailbox.close("done")
        assert await take(mailbox, 3) == ["mass 1", "over ceiling", "load 2"]
        with pytest.raises(LinkError):
            await mailbox.get()

    asyncio.run(check())


def test_a_kept_message_is_never_replaced():
    async def check():
        mailbox = Mailbox()
        for message in (1, 1, 2):
            mailbox.put(message)
        assert await take(mailbox, 3) == [1, 1, 2]

    asyncio.run(check())


def test_only_what_is_kept_counts_into_its_size():
    async def check():
        mailbox = Mailbox()
        mailbox.put("event", size=10)
        mailbox.put("load", replaces="load", size=500)
        mailbox.put("load", replaces="load", size=500)
        assert mailbox.kept_size == 10
        await take(mailbox, 2)
        assert mailbox.kept_size == 0

    asyncio.run(check())


def test_a_taker_waits_until_there_is_something():
    async def check():
        mailbox = Mailbox()
        taker = asyncio.create_task(mailbox.get())
        waiting = asyncio.create_task(mailbox.get())
        mailbox.put("a")
        assert await taker == "a"
        waiting.cancel()

    asyncio.run(check())


def test_a_closed_mailbox_gives_what_it_holds_and_then_says_why():
    async def check():
        mailbox = Mailbox()
        mailbox.put("last")
        mailbox.close("the daemon stopped")
        mailbox.close("later")
        mailbox.put("too late")
        assert await mailbox.get() == "last"
        with pytest.raises(LinkError, match=r"^the daemon stopped$"):
            await mailbox.get()

    asyncio.run(check())


def test_closing_wakes_the_taker():
    async def check():
        mailbox = Mailbox()
        taker = asyncio.create_task(mailbox.get())
        mailbox.close("gone")
        with pytest.raises(LinkError, match="gone"):
            await taker

    asyncio.run(check())
