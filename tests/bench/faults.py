"""What can fail between a bench and the archive, what happened, and how long it took to mend.

`make bench-faults`; the faults are those of `tests/support/faults.py`. A time counts from when the
fault was over until the benches had receipts for all. Names may be given to run only some.
"""

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.faults import FAULTS
from support.laboratory import Laboratory


def main():
    """Print the table; exit status 1 where anything was lost or filed twice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--keep", action="store_true", help="leave the folder, with the logs")
    given = parser.parse_args()
    wanted = given.names
    sys.stdout.reconfigure(line_buffering=True)
    folder = Path(tempfile.mkdtemp(prefix="ramphold-faults-"))
    laboratory = Laboratory(folder)
    lost = 0
    print(f"{'fault':<78}{'mended s':>9}  what happened")
    try:
        for fault in FAULTS:
            if wanted and fault.__name__ not in wanted:
                continue
            try:
                benches, told = fault(laboratory)
                took_s = f"{laboratory.delivered(*benches):9.1f}"
            except AssertionError as error:
                lost += 1
                took_s, told = "      NOT", str(error)
            print(f"{fault.__name__.replace('_', ' '):<78}{took_s}  {told}")
            laboratory.mend()
    finally:
        laboratory.close()
        if given.keep:
            print(folder)
        else:
            shutil.rmtree(folder)
    sys.exit(1 if lost else 0)


if __name__ == "__main__":
    main()
