"""An invented certificate of a load indicator."""

import datetime as dt

from ramphold.wire import Certificate, CertificatePoint


def certificate(name="C-1", **changed):
    """A certificate in force, with some fields changed."""
    held = {
        "id": name,
        "instrument": "load cell",
        "serial": "7",
        "by": "us",
        "reference": "weights",
        "date": dt.date(2026, 11, 1),
        "due": dt.date(2027, 11, 1),
        "unit": "lbf",
        "reading_unit": "lbf",
        "model": "linear",
        "coefficients": (0.0, 2.0),
        "residual_sd": 3.0,
        "coverage_factor": 2.0,
        "expanded_uncertainty": 25.0,
        "points": (
            CertificatePoint(run=1, force=100.0, reading=200.0),
            CertificatePoint(run=1, force=50_000.0, reading=100_000.0),
        ),
    }
    return Certificate(**(held | changed))
