"""Two hundred hostile messages from a valid account, and what happened to each kind.

`make bench-hostile`; the messages are those of `tests/support/hostile.py`. Meanwhile an honest
bench works on, and each of its records is timed until it has the receipt.
"""

import argparse
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from ramphold.collector._message_check import digest
from support.hostile import attack
from support.laboratory import Laboratory


def main():
    """Print the table; exit status 1 where the collector ended or a limit was exceeded."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="ramphold-hostile-"))
    laboratory = Laboratory(folder)
    try:
        thief, honest = laboratory.bench().filled(), laboratory.bench().start().linked()
        pid = laboratory.collector.pid
        found = attack(laboratory, thief, honest, given.seed)
        ended = not laboratory.collector.running() or laboratory.collector.pid != pid
        table(laboratory, found)
    finally:
        laboratory.close()
        shutil.rmtree(folder)
    sys.exit(1 if ended or max(found.waits_s) > 10 or found.memory > 250e6 else 0)


def table(laboratory, found):
    """Print what became of each kind, and how the honest bench fared."""
    kept = dict(laboratory.rows("SELECT sha256, reason FROM quarantine"))
    print(f"{'kind':<20}{'sent':>6}{'MB':>7}{'kept':>6}  the commonest reasons of those kept")
    for kind in dict.fromkeys(sorted(one.kind for one in found.messages)):
        of_kind = [one for one in found.messages if one.kind == kind]
        reasons = [
            kept[name] for one in of_kind if (name := digest(one.topic, one.payload)) in kept
        ]
        commonest = "; ".join(one[:70] for one, _ in Counter(reasons).most_common(2))
        size = sum(len(one.payload) for one in of_kind) / 1e6
        print(f"{kind:<20}{len(of_kind):>6}{size:>7.1f}{len(reasons):>6}  {commonest}")
    ((messages, size),) = laboratory.rows("SELECT count(*), sum(length(payload)) FROM quarantine")
    ((dropped, lost),) = laboratory.rows("SELECT sum(messages), sum(bytes) FROM quarantine_dropped")
    ((filed, parts),) = laboratory.rows(
        "SELECT (SELECT count(*) FROM events WHERE bench = 'press-1'), (SELECT count(*) FROM parts)"
    )
    print(
        f"in quarantine: {messages} messages, {size / 1e6:.1f} MB; dropped and counted: {dropped} "
        f"({lost / 1e6:.1f} MB); parts kept: {parts}; filed, as nothing is wrong with it: {filed}"
    )
    print(f"restarts of the checking process: {laboratory.collector.log().count('is gone')}")
    print(f"all was read or dropped after {found.took_s:.1f} s")
    print(
        f"records of the honest bench filed meanwhile: {len(found.waits_s)}, each within "
        f"{max(found.waits_s):.1f} s"
    )
    print(f"memory of the collector with its processes: at most {found.memory / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
