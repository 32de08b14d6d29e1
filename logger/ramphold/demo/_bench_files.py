"""The files of the simulated bench: its configuration and its invented certificates."""

import datetime as dt
import json
import re
from pathlib import Path

from msgspec import structs

from ramphold.daemon.config import BenchConfig, load_config
from ramphold.wire import Certificate, CertificatePoint

#: Invented. Its uncertainty is 0.2 % of the load at 4000 psi.
_CERTIFICATE = Certificate(
    id="DEMO-1",
    instrument="simulated load indicator",
    serial="DEMO",
    by="nobody: invented",
    reference="none: invented",
    date=dt.date(2026, 1, 1),
    due=dt.date(2027, 1, 1),
    unit="lbf",
    reading_unit="lbf",
    model="linear",
    coefficients=(0.0, 1.0),
    residual_sd=0.0,
    coverage_factor=2.0,
    expanded_uncertainty=25.0,
    points=tuple(
        CertificatePoint(run=1, force=force, reading=force) for force in (1000.0, 50_000.0)
    ),
)
_BALANCE_CERTIFICATE = structs.replace(
    _CERTIFICATE,
    id="DEMO-2",
    instrument="simulated balance",
    unit="g",
    reading_unit="g",
    expanded_uncertainty=0.002,
    points=tuple(CertificatePoint(run=1, force=mass, reading=mass) for mass in (1.0, 200.0)),
)

#: Names in single quotes are in the bench's folder.
_BENCH = """\
bench = "demo"

[press]
rating = "50000lbf"

[load]
kind = "indicator"
port = 'load'
capacity = "50000lbf"

[balance]
port = 'balance'
profile = "reply-state"

[calibration]
folder = 'calibration'

[store]
path = 'runs.sqlite3'

[control]
socket = 'control.sock'

[laboratory]
name = "Laboratory of the demo"
address = ["1 Invented Street", "Nowhere"]
accreditation = "Invented from end to end: no sand was crushed, nobody is accredited."
"""


def write_bench_files(folder: Path) -> BenchConfig:
    """Write the files into a folder; returns the configuration."""
    calibration = folder / "calibration"
    calibration.mkdir(exist_ok=True)
    for one in (_CERTIFICATE, _BALANCE_CERTIFICATE):
        (calibration / f"{one.id}.toml").write_text(one.text())
    path = folder / "bench.toml"
    # A JSON string is also a TOML string.
    path.write_text(re.sub("'(.+)'", lambda name: json.dumps(str(folder / name[1])), _BENCH))
    return load_config(path)
