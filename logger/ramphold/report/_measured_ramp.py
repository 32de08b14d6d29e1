"""A run's ramp as its record has it, for the uncertainty of its rate."""

from ramphold.method import cell
from ramphold.method.ramp_rate import Ramp
from ramphold.method.uncertainty import Budget
from ramphold.report._uncertainty import BenchKnown
from ramphold.sample import SpecimenRecord


def measured_ramp(known: BenchKnown, one: SpecimenRecord, force: Budget | None) -> Ramp | None:
    """The ramp of a specimen's run; None without a rate or a certificate of the load.

    Args:
        known: what is known about the bench.
        one: the specimen.
        force: the budget of the force at its target.
    """
    run = one.run
    if run is None or force is None or not run.ramp_rate_psi_min:
        return None
    came_s = {moment.state: moment.t_s for moment in reversed(run.moments)}
    lasted_s = came_s.get("hold", 0.0) - came_s.get("ramp", 0.0)
    last_s = max(came_s.values(), default=0.0)
    if "ramp" not in came_s or lasted_s <= 0 or run.readings < 2:  # noqa: PLR2004 - no interval
        return None
    bore_in = one.added.bore_in
    found_in = known.bore_in(one.added.cell)
    calibration = next(part for part in force.components if part.name.startswith("calibration"))
    return Ramp(
        rate_psi_min=run.ramp_rate_psi_min,
        lasted_s=lasted_s,
        calibration=calibration.contribution / force.value,
        drift=(known.span_pct or 0.0) / 100,
        bore_in=bore_in,
        bore_half_width_in=0.0 if found_in is None else abs(found_in - bore_in),
        step_psi=known.load_step_lbf / cell.area_in2(bore_in),
        interval_s=last_s / run.readings,
    )
