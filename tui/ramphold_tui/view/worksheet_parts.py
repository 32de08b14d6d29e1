"""The worksheet as rows: the samples, and the parts of one sample with their next steps."""

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ramphold.control.sample_methods import SampleLine, SampleSheet
from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    NextStep,
    SampleRecord,
    SpecimenRecord,
    Step,
    WeighingPlace,
)
from ramphold_tui.view import formats
from ramphold_tui.view.part_findings import specimen_findings, stress_findings, test_findings
from ramphold_tui.view.step_words import place_words, step_words

_NAME, _FOUND = 19, 28
HEADER = f"  {'part':<{_NAME}}{'found so far':<{_FOUND}}next"
SAMPLES_HEADER = f"  {'sample':<13}{'size':<8}{'client':<15}{'state':<10}next"


class WorksheetPart(Struct, frozen=True, kw_only=True):
    """One part of a sample.

    Attributes:
        key: identifies it among the parts, and stays the same as the sample goes on.
        name: what it is called.
        found: what is known of it so far.
        step: its next step; None if there is none.
        depth: 1 for a stress, 2 for a specimen.
        specimen, stress_psi: the specimen or the stress that it is.
    """

    key: str
    name: str
    found: str
    step: NextStep | None
    depth: int = 0
    specimen: SpecimenRecord | None = None
    stress_psi: float | None = None


def worksheet_parts(sheet: SampleSheet) -> tuple[WorksheetPart, ...]:
    """The parts of a sample: its tests, each stress with its specimens, and the closing steps."""
    record, steps = sheet.record, sheet.next
    tests = list(record.asked_tests)
    if record.specimens and CRUSH not in tests:
        tests.append(CRUSH)
    found: list[WorksheetPart] = []
    for test in tests:
        step = next((one for one in steps if _test_of(one) == test), None)
        said = test_findings(record, test)
        found.append(WorksheetPart(key=test, name=test, found=said, step=step))
        if test == CRUSH:
            found += _stresses(record, steps)
    last = next((one for one in steps if one.step in (Step.REVIEW, Step.REPORT)), None)
    if last is not None:
        found.append(WorksheetPart(key="whole", name="whole sample", found=record.state, step=last))
    return tuple(found)


def part_row(part: WorksheetPart) -> str:
    """A part in one line, under `HEADER`."""
    name = _cell("  " * part.depth + part.name, _NAME)
    step = step_words(part.step) if part.step else "done"
    return f"{name}{_cell(part.found, _FOUND)}{step}"


def sample_row(line: SampleLine, sheet: SampleSheet | None) -> str:
    """One sample in one line, under `SAMPLES_HEADER`."""
    one, step = line.sample, _front(sheet)
    return (
        f"{_cell(one.laboratory_number, 13)}{_cell(one.size, 8)}{_cell(one.client_reference, 15)}"
        f"{_cell(line.state, 10)}{step}"
    )


def sample_heading(record: SampleRecord) -> str:
    """What the sample is."""
    one = record.sample
    return f"{one.laboratory_number}   {one.size} {one.material}   {one.client_reference}"


def specimens_at(found: Iterable[WorksheetPart], stress_psi: float | None) -> int:
    """How many specimens of a stress are not left out."""
    specimens = [part.specimen for part in found if part.stress_psi == stress_psi]
    return sum(one is not None and one.exclusion is None for one in specimens)


def full_name(part: WorksheetPart) -> str:
    """Its name, with the stress of a specimen, for use outside the list."""
    if part.specimen is not None:
        stress_psi = part.specimen.added.target_psi
        return f"{part.name} at {formats.psi(stress_psi)}" if stress_psi else f"blank {part.name}"
    return part.name


def key_of_specimen(number: int) -> str:
    """Key of the part that is a specimen."""
    return f"specimen {number}"


def proposed_specimen(record: SampleRecord, stress_psi: float | None) -> dict[str, str]:
    """Label, stress, bore and cell of the next specimen, by field of its form."""
    planned = [one.stress_psi for one in record.plan]
    psi = stress_psi if stress_psi is not None else next(iter(planned), None)
    last = record.specimens[-1].added if record.specimens else None
    found = {} if last is None else {"bore": f"{last.bore_in:g}in", "cell": last.cell}
    if psi is None:
        return found
    there = sum(one.added.target_psi == psi for one in record.specimens)
    label = f"{psi / 1000:g}K-{there + 1}" if psi else f"blank-{there + 1}"
    return found | {"label": label, "target": f"{psi:g}psi"}


def weighed(part: WorksheetPart, place: WeighingPlace) -> str:
    """What lies on the balance, and of which part unless that is plain."""
    plain = place.test in (SIEVING, DENSITY)
    return place_words(place) if plain else f"{place_words(place)}, {full_name(part)}"


def flat_row(part: WorksheetPart) -> str:
    """A part in one line, in a list without the stresses."""
    return part_row(replace(part, name=full_name(part), depth=0))


def first_to_do(found: Sequence[WorksheetPart]) -> str | None:
    """Key of the first part that has a next step, or else of the first part.

    A specimen that was crushed comes before all others: what was begun is finished first.
    """
    wanted = [part for part in found if part.step is not None]
    begun = [part for part in wanted if part.specimen is not None and part.specimen.run is not None]
    return next((part.key for part in (*begun, *wanted, *found)), None)


def _cell(text: str, width: int) -> str:
    """A text in a column; a longer one is not cut, and moves what follows."""
    return f"{text:<{width - 2}}  "


def _front(sheet: SampleSheet | None) -> str:
    if sheet is None:
        return ""
    for part in worksheet_parts(sheet):
        if part.step is not None:
            step = step_words(part.step)
            return f"{full_name(part)}: {step}" if part.specimen else step
    return "nothing is left to do"


def _test_of(step: NextStep) -> str | None:
    """The test that a step belongs to; None for a step of a specimen."""
    if step.specimen is not None or step.step is Step.ADD_SPECIMEN:
        return None
    if step.place is not None:
        return step.place.test
    tests = {
        Step.CHOOSE_SIEVE: SIEVING,
        Step.SHAKE: SIEVING,
        Step.CHOOSE_CYLINDER: DENSITY,
        Step.PLAN: CRUSH,
    }
    return step.what or tests.get(step.step)


def _stresses(record: SampleRecord, steps: Iterable[NextStep]) -> Iterator[WorksheetPart]:
    wanted = {one.stress_psi: one for one in steps if one.step is Step.ADD_SPECIMEN}
    of_specimens = {one.specimen: one for one in steps if one.specimen is not None}
    planned = {one.stress_psi for one in record.plan}
    for psi in sorted(planned | {one.added.target_psi for one in record.specimens}):
        yield WorksheetPart(
            key=f"{psi:g} psi",
            name=formats.psi(psi) if psi else "blanks",
            found=stress_findings(record, psi),
            step=wanted.get(psi),
            depth=1,
            stress_psi=psi,
        )
        for one in record.specimens:
            if one.added.target_psi == psi:
                yield WorksheetPart(
                    key=key_of_specimen(one.number),
                    name=one.added.label,
                    found=specimen_findings(one),
                    step=of_specimens.get(one.number),
                    depth=2,
                    specimen=one,
                    stress_psi=psi,
                )
