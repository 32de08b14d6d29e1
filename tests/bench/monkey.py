"""How long a monkey works at the screen before something breaks: 20 000 things from four seeds.

    python tests/bench/monkey.py [--seeds N] [--each N]

Each seed has a bench of its own. A fault ends it with the last things that were done.
"""

import argparse
import asyncio
import logging
import tempfile
from pathlib import Path

from support.monkey import Monkey


async def work(seed, each):
    """Let one monkey work; what it did, in a line."""
    with tempfile.TemporaryDirectory() as folder:
        async with Monkey.at_work(Path(folder), seed) as monkey:
            for _ in range(each):
                await monkey.do_one()
            return (
                f"{seed:4} {each:7} {monkey.pressed.total():6} {monkey.pastes:7} "
                f"{monkey.agreed:7} {monkey.started:5} {monkey.forms:7}"
            )


def main():
    """Let one after the other work."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--each", type=int, default=5000)
    given = parser.parse_args()
    logging.basicConfig(level=logging.ERROR)
    print("seed  things   keys  pastes  agreed  runs  drafts")
    for seed in range(1, given.seeds + 1):
        print(asyncio.run(work(seed, given.each)), flush=True)


if __name__ == "__main__":
    main()
