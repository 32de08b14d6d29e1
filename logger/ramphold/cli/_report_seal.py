"""Writes the seal of a report that was just issued, once the bench has signed its record."""

import time
from pathlib import Path

import msgspec

from ramphold.cli._common import write_new
from ramphold.cli._database_options import open_database, sample_number
from ramphold.keys.report_seal import ReportSeal
from ramphold.sample import ReportIssued

# The daemon signs within a second.
_PATIENCE_S, _STEP_S = 4.0, 0.2


def write_seal(html: Path, sample: str, db: Path | None, config: Path | None) -> str:
    """Write `HTML.seal` beside a report; the line to print.

    Raises:
        InputError: the file cannot be written.
        StoreError: the database cannot be read.
    """
    for _ in range(round(_PATIENCE_S / _STEP_S)):
        if (seal := _seal(sample, db, config)) is not None:
            path = html.with_name(html.name + ".seal")
            write_new(path, msgspec.json.encode(seal).decode() + "\n")
            return f"seal {path}"
        time.sleep(_STEP_S)
    return "no seal: the bench has not signed the record of the issue (`ramphold check`)"


def _seal(sample: str, db: Path | None, config: Path | None) -> ReportSeal | None:
    with open_database(db, config) as store, store.snapshot():
        issued = store.records.of_kind(ReportIssued, sample_number(store, sample))
        return store.heads.seal(issued[-1].record)
