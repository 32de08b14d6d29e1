"""How soon the laboratory's pages are there, over an archive of 100 000 specimens and 2000 runs.

    python tests/bench/browsing.py FOLDER [SPECIMENS RUNS]

fills FOLDER/archive.db unless it is there, and prints the median and the longest of ten answers of
each page, without a network, and the median of the processor's time, which other programs do not
lengthen. A report's page is asked for once anew, and again while it is kept.
"""

import statistics
import sys
import time
from pathlib import Path

from _big_archive import CLIENTS, fill

from ramphold.browse.config import BrowseConfig
from ramphold.collector.archive import open_archive
from support.browsing import asked

_TIMES = 10


def main() -> None:
    """Fill the archive, and ask for every page."""
    folder = Path(sys.argv[1])
    specimens, runs = (int(one) for one in (sys.argv[2:] or ("100000", "2000")))
    path = folder / "archive.db"
    if not path.exists():
        began_s = time.perf_counter()
        fill(path, specimens, runs, folder)
        print(
            f"filled in {time.perf_counter() - began_s:.0f} s, {path.stat().st_size / 1e6:.0f} MB"
        )
    with open_archive(str(path), read_only=True) as archive:
        counted = "SELECT (SELECT count(*) FROM specimen_results), (SELECT count(*) FROM run_data)"
        print("{} specimens, {} runs".format(*archive.database.rows(counted)[0]))
        newest = archive.database.rows(
            "SELECT series, sample FROM sample_results ORDER BY received_utc_ns DESC LIMIT 12"
        )
        series, run = archive.database.rows(
            "SELECT series, max(run) FROM run_data GROUP BY series"
        )[0]
    with asked(BrowseConfig(archive=str(path))) as ask:
        pages = {
            "benches": "",
            "samples": "samples",
            "samples, by client": f"samples?begins={CLIENTS[3]}",
            "samples, by size and state": "samples?size=30/50&state=reviewed",
            "samples, by class": "samples?crush_class=9K",
            "samples, by a class that none has": "samples?crush_class=1K",
            "samples, by bench and day": "samples?bench=press-2&first=2025-01-01&last=2025-01-31",
            "samples, the oldest": "samples?last=2023-12-02",
            "run": f"runs/{series}/{run}",
            "work": "work",
            "over time": "over-time",
        }
        ask("samples")
        print(f"{'page':<36} median       longest processor")
        for name, page in pages.items():
            tell(name, [timed(ask, page) for _ in range(_TIMES)])
        anew = [f"samples/{series}/{sample}" for series, sample in newest]
        timed(ask, anew.pop())  # loads numpy
        tell("report, built", [timed(ask, page) for page in anew[:_TIMES]])
        tell("report, kept", [timed(ask, page) for page in anew[:_TIMES]])
        tell("report as PDF", [timed(ask, f"{page}/report.pdf") for page in anew[:3]])
        tell("verify", [timed(ask, f"{page}/verify") for page in anew[:3]])


def timed(ask, page) -> tuple[float, float]:
    """Seconds until the whole answer is there, and those of the processor."""
    began_s, worked_s = time.perf_counter(), time.process_time()
    answer = ask(page)
    assert answer.status_code == 200, answer.text
    return time.perf_counter() - began_s, time.process_time() - worked_s


def tell(name: str, times: list[tuple[float, float]]) -> None:
    """Print a row."""
    waited, worked = zip(*times, strict=True)
    median, longest, processor = statistics.median(waited), max(waited), statistics.median(worked)
    print(f"{name:<36} {1000 * median:6.0f} ms {1000 * longest:8.0f} ms {1000 * processor:6.0f} ms")


if __name__ == "__main__":
    main()
