"""A sample built from records, one after the other, as they would be written."""

import pytest

from ramphold.method.gravimetric import Material
from ramphold.sample import (
    CRUSH,
    BenchRecord,
    Chain,
    Load,
    MassTaken,
    RunCheck,
    RunFinished,
    SampleReceived,
    SpecimenAdded,
    next_steps,
    sample_record,
)

SECOND = 10**9


class Book:
    """The records of one sample; each takes the next number and a second later than the last."""

    def __init__(self, **sample):
        self.records = []
        self.write(SampleReceived, **{
            "laboratory_number": "26-0417", "client_reference": "pit 3",
            "material": Material.SAND, "size": "20/40", "edition": "ISO 13503-2:2024",
        } | sample)  # fmt: skip

    def write(self, kind, **fields):
        number = len(self.records) + 1
        fields = {
            "record": number,
            "sample": 1,
            "operator": "KL",
            "utc_ns": number * SECOND,
        } | fields
        self.records.append(kind(**fields))
        return self.records[-1]

    def weigh(self, mass_g, item, load=Load.NET, test=CRUSH, **fields):
        return self.write(
            MassTaken, test=test, item=item, load=load, mass_g=mass_g, t_ns=0, **fields
        )

    def specimen(self, number, stress_psi=4000.0):
        return self.write(
            SpecimenAdded, specimen=number, label="a", target_psi=stress_psi, bore_in=2.0
        )

    def run(self, specimen, *, verdict="pass", state="complete", number=None, failed=()):
        return self.write(
            RunFinished, run=number or specimen, specimen=specimen, state=state, reason="r",
            started_utc_ns=1, ended_utc_ns=2, target_psi=4000.0, bore_in=2.0, rate_psi_min=2000.0,
            hold_s=120.0, ceiling_lbf=12800.0, rating_lbf=47000.0, band_pct=2.0, verdict=verdict,
            checks=tuple(RunCheck(name=name, value=1.0, unit="", low=None, high=None, passed=False)
                         for name in failed),
            readings=0, trace_sha256="", record_sha256="",
        )  # fmt: skip

    def crushed(self, number, fines_g=2.0, stress_psi=4000.0, **run):
        """A specimen from charge to pan: 40 g, so that 2 g are 5 %."""
        self.specimen(number, stress_psi)
        self.weigh(40.0, "charge", specimen=number)
        self.run(number, **run)
        self.weigh(fines_g, "pan", specimen=number)

    def record(self, bench=None):
        chain = Chain(records=len(self.records), newest=len(self.records), sha256="")
        return sample_record(self.records, bench or BenchRecord(), chain)

    def steps(self, **given):
        return next_steps(self.record(), **given)


@pytest.fixture
def book():
    """A function that opens the book of a new sample."""
    return Book
