"""The worksheet as rows: samples, and the parts of one with what is next for each. Pure."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

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
from ramphold_tui.view import formats, weighing_words
from ramphold_tui.view.part_findings import of_specimen, of_stress, of_test

__all__ = [
    "BIG",
    "HEADER",
    "SAMPLES_HEADER",
    "WorksheetPart",
    "big_word",
    "enter_does",
    "first_to_do",
    "flat_row",
    "heading",
    "key_of_specimen",
    "lines",
    "proposed_specimen",
    "row",
    "sample_row",
    "specimens_at",
    "to_do",
    "weighed",
    "whose",
]

_NAME, _FOUND = 19, 28
HEADER = f"  {'part':<{_NAME}}{'found so far':<{_FOUND}}next"
SAMPLES_HEADER = f"  {'sample':<13}{'size':<8}{'client':<15}{'state':<10}next"
#: What is to be done, in letters read from two metres.
BIG = {
    Step.CHOOSE_CYLINDER: "CYLINDER",
    Step.ENTER: "ENTER",
    Step.PLAN: "PLAN",
    Step.ADD_SPECIMEN: "SPECIMEN",
    Step.TICK: "SEE TO IT",
    Step.CRUSH: "START RUN",
    Step.AT_PRESS: "AT PRESS",
    Step.DECIDE: "DECIDE",
    Step.SHAKE: "SHAKE",
    Step.REVIEW: "REVIEW",
    Step.REPORT: "REPORT",
}
_ENTER = {
    Step.WEIGH: "Enter: to the balance",
    Step.CHOOSE_CYLINDER: "Enter: choose it",
    Step.ENTER: "Enter: type it",
    Step.PLAN: "Enter: plan it",
    Step.ADD_SPECIMEN: "Enter: record it",
    Step.TICK: "Enter: it is seen to",
    Step.CRUSH: "Enter: asks, then starts",
    Step.AT_PRESS: "Enter: to the press",
    Step.DECIDE: "Enter: decide",
    Step.SHAKE: "Enter: it runs from now",
    Step.REVIEW: "Enter: it is reviewed",
    Step.REPORT: "",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WorksheetPart:
    """One part of a sample.

    Attributes:
        key: tells it from the other parts, and stays when the sample goes on.
        name: what it is called.
        found: what is known of it.
        step: what is next; None where nothing is.
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


def lines(sheet: SampleSheet) -> tuple[WorksheetPart, ...]:
    """The parts of a sample: its tests, each stress with its specimens, and what comes after."""
    record, steps = sheet.record, sheet.next
    tests = list(record.sample.tests)
    if record.specimens and CRUSH not in tests:
        tests.append(CRUSH)
    found: list[WorksheetPart] = []
    for test in tests:
        step = next((one for one in steps if _test_of(one) == test), None)
        found.append(WorksheetPart(key=test, name=test, found=of_test(record, test), step=step))
        if test == CRUSH:
            found += _stresses(record, steps)
    last = next((one for one in steps if one.step in (Step.REVIEW, Step.REPORT)), None)
    if last is not None:
        found.append(WorksheetPart(key="whole", name="whole sample", found=record.state, step=last))
    return tuple(found)


def row(line: WorksheetPart) -> str:
    """A part in one line, under `HEADER`."""
    name = ("  " * line.depth + line.name)[: _NAME - 1]
    found = line.found[: _FOUND - 1]
    return f"{name:<{_NAME}}{found:<{_FOUND}}{to_do(line.step) if line.step else 'done'}"


def sample_row(line: SampleLine, sheet: SampleSheet | None) -> str:
    """One sample in one line, under `SAMPLES_HEADER`."""
    one, step = line.sample, _front(sheet)
    return (
        f"{one.laboratory_number[:12]:<13}{one.size:<8}{one.client_reference[:13]:<15}"
        f"{line.state:<10}{step}"
    )


def heading(record: SampleRecord) -> str:
    """What the sample is."""
    one = record.sample
    return f"{one.laboratory_number}   {one.size} {one.material}   {one.client_reference}"


def to_do(step: NextStep) -> str:
    """A step in a few words."""
    if step.place is not None:
        return f"weigh {weighing_words.words(step.place)}"
    if step.step is Step.CHOOSE_CYLINDER:
        return "choose the cylinder"
    if step.step is Step.ADD_SPECIMEN:
        return step.text.removesuffix(f" at {step.stress_psi:g} psi")
    if step.step is Step.DECIDE:
        return f"decide: run {step.run} failed"
    if step.step is Step.REVIEW:
        return "have it reviewed"
    return step.text


def big_word(step: NextStep | None) -> str:
    """A step in one or two words that are read from two metres."""
    if step is None:
        return "DONE"
    return weighing_words.big_words(step.place) if step.place else BIG[step.step]


def enter_does(step: NextStep | None) -> str:
    """What Enter does about a step."""
    return "Enter: on to the next" if step is None else _ENTER[step.step]


def specimens_at(found: Iterable[WorksheetPart], stress_psi: float | None) -> int:
    """How many specimens of a stress are not left out."""
    specimens = [line.specimen for line in found if line.stress_psi == stress_psi]
    return sum(one is not None and one.exclusion is None for one in specimens)


def whose(line: WorksheetPart) -> str:
    """Which part it is, where its name alone does not say so."""
    if line.specimen is not None:
        return f"{line.name} at {formats.psi(line.specimen.added.target_psi)}"
    return line.name


def key_of_specimen(number: int) -> str:
    """Key of the part that is a specimen."""
    return f"specimen {number}"


def proposed_specimen(record: SampleRecord, stress_psi: float | None) -> dict[str, str]:
    """What the next specimen would be, by field: its label, stress, bore and cell."""
    planned = [one.stress_psi for one in record.plan]
    psi = stress_psi or next(iter(planned), None)
    last = record.specimens[-1].added if record.specimens else None
    found = {} if last is None else {"bore": f"{last.bore_in:g}in", "cell": last.cell}
    if psi is None:
        return found
    there = sum(one.added.target_psi == psi for one in record.specimens)
    return found | {"label": f"{psi / 1000:g}K-{there + 1}", "target": f"{psi:g}psi"}


def weighed(line: WorksheetPart, place: WeighingPlace) -> str:
    """What lies on the balance, and of which part it is where that is not plain."""
    plain = place.test in (SIEVING, DENSITY)
    return weighing_words.words(place) if plain else f"{weighing_words.words(place)}, {whose(line)}"


def flat_row(line: WorksheetPart) -> str:
    """A part in one line by itself, without those it belongs to."""
    return row(replace(line, name=whose(line), depth=0))


def first_to_do(found: Sequence[WorksheetPart]) -> str | None:
    """Key of the first part with something to do, else of the first one."""
    wanted = [line.key for line in found if line.step is not None] or [line.key for line in found]
    return wanted[0] if wanted else None


def _front(sheet: SampleSheet | None) -> str:
    if sheet is None:
        return ""
    for line in lines(sheet):
        if line.step is not None:
            return f"{whose(line)}: {to_do(line.step)}" if line.specimen else to_do(line.step)
    return "nothing is left to do"


def _test_of(step: NextStep) -> str | None:
    """The test that a step belongs to as a whole."""
    if step.specimen is not None or step.step is Step.ADD_SPECIMEN:
        return None
    if step.place is not None:
        return step.place.test
    tests = {Step.SHAKE: SIEVING, Step.CHOOSE_CYLINDER: DENSITY, Step.PLAN: CRUSH}
    return step.what or tests.get(step.step)


def _stresses(record: SampleRecord, steps: Iterable[NextStep]) -> Iterator[WorksheetPart]:
    wanted = {one.stress_psi: one for one in steps if one.step is Step.ADD_SPECIMEN}
    of_specimens = {one.specimen: one for one in steps if one.specimen is not None}
    planned = {one.stress_psi for one in record.plan}
    for psi in sorted(planned | {one.added.target_psi for one in record.specimens}):
        yield WorksheetPart(
            key=f"{psi:g} psi",
            name=formats.psi(psi),
            found=of_stress(record, psi),
            step=wanted.get(psi),
            depth=1,
            stress_psi=psi,
        )
        for one in record.specimens:
            if one.added.target_psi == psi:
                yield WorksheetPart(
                    key=key_of_specimen(one.number),
                    name=one.added.label,
                    found=of_specimen(one),
                    step=of_specimens.get(one.number),
                    depth=2,
                    specimen=one,
                    stress_psi=psi,
                )
