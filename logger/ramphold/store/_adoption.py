"""What was kept before there were records becomes records of the bench, in the order of time."""

from collections.abc import Iterator

from msgspec import structs

from ramphold.sample import MassTaken, Record, SpecimenAdded, Weighing, place_of
from ramphold.store._connection import Statements
from ramphold.store._finished import finished_record
from ramphold.store._records import append_record
from ramphold.store._runs import RUN, run_of

__all__ = ["adopt"]


def adopt(connection: Statements) -> None:
    """Write a record for each specimen, mass and ended run that the tables hold."""
    found = [*_specimens(connection), *_runs(connection), *_masses(connection)]
    numbers: dict[int, int] = {}
    # A mass's number among the masses becomes its number among the records.
    for mass, record in sorted(found, key=lambda one: one[1].utc_ns):
        if isinstance(record, MassTaken) and record.corrects is not None:
            record = structs.replace(record, corrects=numbers[record.corrects])  # noqa: PLW2901
        kept = append_record(connection, record)
        if mass is not None:
            numbers[mass] = kept.record


def _specimens(connection: Statements) -> Iterator[tuple[None, Record]]:
    for number, label, target_psi, bore_in, operator, utc_ns in connection.rows(
        "SELECT id, label, target_psi, bore_in, operator, created_utc_ns FROM specimens ORDER BY id"
    ):
        yield (
            None,
            SpecimenAdded(
                operator=operator,
                utc_ns=utc_ns,
                specimen=number,
                label=label,
                target_psi=target_psi,
                bore_in=bore_in,
            ),
        )


def _runs(connection: Statements) -> Iterator[tuple[None, Record]]:
    for row in connection.rows(f"{RUN} WHERE ended_t_ns IS NOT NULL ORDER BY id"):
        yield None, finished_record(connection, run_of(row), None)


def _masses(connection: Statements) -> Iterator[tuple[int, Record]]:
    for mass, specimen, what, *rest in connection.rows(
        "SELECT id, specimen, what, mass_g, line, t_ns, utc_ns, operator, corrects, reason "
        "FROM masses ORDER BY id"
    ):
        mass_g, line, t_ns, utc_ns, operator, corrects, reason = rest
        yield (
            mass,
            MassTaken.at(
                place_of(specimen, Weighing(what)),
                operator=operator,
                utc_ns=utc_ns,
                mass_g=mass_g,
                line=line,
                t_ns=t_ns,
                corrects=corrects,
                reason=reason,
            ),
        )
