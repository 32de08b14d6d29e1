"""The results of a round robin among what was collected."""

from enum import StrEnum

from ramphold.clock import utc_text
from ramphold.collector.archive import Archive
from ramphold.errors import InputError
from ramphold.method.study_plan import StudyResult

# Only what counts, of samples that nobody disputes.
_RESULTS = """SELECT b.bench, p.press, p.operator, s.laboratory_number, p.specimen, p.label,
        p.run_utc_ns, p.fines_pct
    FROM specimen_results p
    JOIN samples_in_force b ON b.series = p.series AND b.sample = p.sample
    JOIN sample_results s ON s.series = p.series AND s.sample = p.sample
    WHERE s.client_reference = ? AND p.target_psi = ? AND p.counts = 1
        AND p.fines_pct IS NOT NULL AND b.disputed = ''
    ORDER BY p.run_utc_ns, b.bench, p.specimen"""

# A bench's presses and initials are its own, so they are named with it where there are several.
_BENCH, _PRESS, _OPERATOR = range(3)


class Between(StrEnum):
    """What a study compares."""

    OPERATORS = "operators"
    PRESSES = "presses"
    BENCHES = "benches"


def study_results(
    archive: Archive, reference: str, stress_psi: float, between: Between
) -> tuple[StudyResult, ...]:
    """The fines of every specimen of a material at a stress that counts, in the order of the runs.

    Args:
        archive: where to look.
        reference: the client reference of the samples, which names the material of the study.
        stress_psi: the target stress in psi.
        between: who takes part.

    Raises:
        InputError: there are none, or results of samples are still being worked out.
    """
    if archive.database.rows("SELECT 1 FROM dirty LIMIT 1"):
        raise InputError(
            f"{archive.name} has samples whose results are not worked out yet: "
            "let the collector run until it is idle"
        )
    rows = archive.database.rows(_RESULTS, (reference, stress_psi))
    if not rows:
        raise InputError(
            f"{archive.name} has no specimen at {stress_psi:g} psi that counts, of samples with "
            f"the client reference {reference!r}"
        )
    several = len({row[_BENCH] for row in rows}) > 1
    return tuple(
        StudyResult(
            participant=_participant(row[:3], between, several=several),
            fines_pct=float(row[7]),
            sample=row[3],
            specimen=row[4],
            label=row[5],
            crushed=utc_text(row[6]),
        )
        for row in rows
    )


def _participant(row: tuple[str, ...], between: Between, *, several: bool) -> str:
    name = {
        Between.BENCHES: row[_BENCH],
        Between.PRESSES: row[_PRESS] or "a press without a name",
        Between.OPERATORS: row[_OPERATOR],
    }[between]
    return f"{row[_BENCH]} {name}" if several and between is not Between.BENCHES else name
