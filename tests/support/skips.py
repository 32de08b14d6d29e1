"""What is told of skipped tests: which packages bring them back."""

import collections
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

__all__ = ["told"]


def told(reasons: Iterable[str]) -> Iterator[str]:
    """One line for each reason that no package cures, and one for all packages."""
    packages = set()
    wanting = 0
    others = collections.Counter()
    for reason in reasons:
        if found := re.search(r"apt-get install (.+)", reason):
            packages.update(found[1].split())
            wanting += 1
        else:
            others[reason.removeprefix("Skipped: ")] += 1
    for reason, count in others.items():
        yield f"{count} skipped: {reason}"
    if packages:
        named = " ".join(sorted(packages))
        yield f"{wanting} skipped: sudo apt-get install {named} brings them back"


if __name__ == "__main__":
    sys.stdout.writelines(f"{line}\n" for line in told(Path(sys.argv[1]).read_text().splitlines()))
