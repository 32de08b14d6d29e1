"""What people decide of the run that the press shows."""

from collections.abc import Iterable

from msgspec import structs

from ramphold.control.run_methods import RunVerdict
from ramphold.sample import ExclusionDecided, Record, RunDecided


def decided(told: RunVerdict | None, specimen: int, added: Iterable[Record]) -> RunVerdict | None:
    """The verdict of a run with what was decided of it, or of its specimen, in new records."""
    for one in added:
        if told is None:
            return None
        match one:
            case RunDecided(run=told.run, counts=counts, operator=operator):
                told = structs.replace(told, counts=counts, decided_by=operator)
            case ExclusionDecided(excluded=excluded, operator=operator):
                if one.specimen == specimen:
                    told = structs.replace(told, left_out_by=operator if excluded else "")
    return told
