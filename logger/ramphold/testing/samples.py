"""Builds a sample from records."""

from typing import Any, TypeVar

from ramphold.method.gravimetric import Material
from ramphold.sample import (
    CRUSH,
    BenchRecord,
    Chain,
    Load,
    MassTaken,
    NextStep,
    Record,
    RunCheck,
    RunFinished,
    SampleReceived,
    SampleRecord,
    SpecimenAdded,
    next_steps,
    sample_record,
)

R = TypeVar("R", bound=Record)

_SECOND = 10**9


class SampleBook:
    """The records of one sample, numbered, a second apart."""

    def __init__(self, **sample: Any) -> None:  # noqa: ANN401 - fields of a record
        self.records: list[Record] = []
        self.write(SampleReceived, **{
            "laboratory_number": "26-0417", "client_reference": "pit 3",
            "material": Material.SAND, "size": "20/40", "edition": "ISO 13503-2:2024",
        } | sample)  # fmt: skip

    def write(self, kind: type[R], **fields: Any) -> R:  # noqa: ANN401 - fields of a record
        """Add a record."""
        number = len(self.records) + 1
        given: dict[str, Any] = {
            "record": number,
            "sample": 1,
            "operator": "KL",
            "utc_ns": number * _SECOND,
        } | fields
        made = kind(**given)
        self.records.append(made)
        return made

    def weigh(
        self,
        mass_g: float,
        item: str,
        load: Load = Load.NET,
        test: str = CRUSH,
        **fields: Any,  # noqa: ANN401 - fields of a record
    ) -> MassTaken:
        """Add a mass in g."""
        return self.write(
            MassTaken, test=test, item=item, load=load, mass_g=mass_g, t_ns=0, **fields
        )

    def specimen(
        self, number: int, stress_psi: float = 4000.0, bore_in: float = 2.0
    ) -> SpecimenAdded:
        """Add a specimen for a stress in psi, in a bore in inches."""
        return self.write(
            SpecimenAdded, specimen=number, label="a", target_psi=stress_psi, bore_in=bore_in
        )

    def run(
        self,
        specimen: int,
        *,
        verdict: str | None = "pass",
        state: str = "complete",
        number: int | None = None,
        failed: tuple[str, ...] = (),
        **given: Any,  # noqa: ANN401 - as in the record
    ) -> RunFinished:
        """Add an ended run; `failed` names the checks that were not within limits."""
        return self.write(
            RunFinished, run=number or specimen, specimen=specimen, state=state, reason="r",
            started_utc_ns=1, ended_utc_ns=2, target_psi=4000.0, bore_in=2.0, rate_psi_min=2000.0,
            hold_s=120.0, ceiling_lbf=12800.0, rating_lbf=47000.0, band_pct=2.0, verdict=verdict,
            checks=tuple(RunCheck(name=name, value=1.0, unit="", low=None, high=None, passed=False)
                         for name in failed),
            readings=0, trace_sha256="", packed_sha256="", record_sha256="", **given,
        )  # fmt: skip

    def crushed(
        self,
        number: int,
        fines_g: float = 2.0,
        stress_psi: float = 4000.0,
        **run: Any,  # noqa: ANN401 - as of `run`
    ) -> None:
        """Add a specimen with its masses and its run; its charge is 40 g, so 2 g are 5 %."""
        self.specimen(number, stress_psi)
        self.weigh(40.0, "charge", specimen=number)
        self.run(number, **run)
        self.weigh(fines_g, "pan", specimen=number)

    def record(self, bench: BenchRecord | None = None) -> SampleRecord:
        """The sample, computed from its records."""
        chain = Chain(records=len(self.records), newest=len(self.records), sha256="")
        return sample_record(self.records, bench or BenchRecord(), chain)

    def steps(self, *, at_press: int | None = None) -> tuple[NextStep, ...]:
        """The next steps."""
        return next_steps(self.record(), at_press=at_press)
