"""The plan of a run: what was asked for, the rest from specimen and bench."""

from typing import Any

from msgspec import structs

from ramphold.control.run_methods import StartRunParams
from ramphold.core import Calibration, PacingStart, Rating, RunPlan
from ramphold.daemon.config import BenchConfig
from ramphold.errors import PlanError
from ramphold.sample import SpecimenAdded
from ramphold.trust import TrustPart


def plan_run(  # noqa: PLR0913 - where the parts of a plan come from
    params: StartRunParams,
    specimen: SpecimenAdded,
    config: BenchConfig,
    rating: Rating,
    *,
    calibration: Calibration | None,
    pacing: PacingStart,
    trust: tuple[TrustPart, ...] = (),
    boot: str = "",
) -> RunPlan:
    """The plan of a run of a specimen.

    Raises:
        PlanError: it must not be run.
    """
    given: dict[str, Any] = structs.asdict(params)
    del given["specimen"], given["operator"]
    if not specimen.target_psi:
        raise PlanError(f"specimen {specimen.specimen} is a blank: it is sieved without a crush")
    given["target_psi"] = given["target_psi"] or specimen.target_psi
    return RunPlan(
        bore_in=specimen.bore_in,
        rating_lbf=rating.rating_lbf,
        rating_name=rating.rating_name,
        rules=config.rules,
        limits=config.limits,
        calibration=calibration,
        pacing=pacing,
        trust=trust,
        boot=boot,
        **{name: value for name, value in given.items() if value is not None},
    )
