"""What is known of a part of a sample, in the few words of a row."""

from statistics import fmean

from ramphold.method.entered import PROPERTIES
from ramphold.sample import CRUSH, CUT, DENSITY, PREPARATION, SIEVING, SampleRecord, SpecimenRecord
from ramphold_tui.view import formats

_WITHIN = {True: ", within limits", False: ", OVER the limit", None: ""}
_VERDICTS = {"pass": "crushed", "fail": "failed"}


def test_findings(record: SampleRecord, test: str) -> str:
    """The result of a test so far."""
    if test in _OWN:
        return _OWN[test](record)
    for found in record.gravimetric:
        if found.test == test and found.loss is not None:
            return f"{found.loss.loss_pct:.2f} % lost{_WITHIN[found.loss.passes]}"
    for value in record.properties:
        if value.name == test:
            unit = PROPERTIES[test].unit
            return f"{value.value:.3g} {unit}".rstrip() + _WITHIN[value.passes]
    return ""


def stress_findings(record: SampleRecord, stress_psi: float) -> str:
    """How many specimens of a stress count, and their mean fines; of blanks, what passed whole."""
    if not stress_psi:
        passed = [blank.fines_pct for blank in record.blanks]
        return f"{fmean(passed):.2f} % pass uncrushed" if passed else ""
    counted = [fines for psi, fines in record.counted if psi == stress_psi]
    planned = sum(one.replicates for one in record.plan if one.stress_psi == stress_psi)
    count = f"{len(counted)} of {planned} count" if planned else f"{len(counted)} count"
    return f"{count}, mean {fmean(counted):.2f} %" if counted else count


def specimen_findings(one: SpecimenRecord) -> str:
    """Charge, fines, and whether it counts."""
    charge_g, parts = one.balance.charge_g, []
    if charge_g is not None:
        parts.append(f"{formats.mass(charge_g)} g")
    elif one.target_g is not None:
        parts.append(f"wanted {formats.mass(one.target_g)} g")
    if one.fines_pct is not None:
        parts.append(f"{one.fines_pct:.2f} %")
    if one.exclusion is not None:
        parts.append("left out")
    elif one.decision is not None and not one.decision.counts:
        parts.append("not counted")
    elif one.counts:
        parts.append("counts")
    elif one.decision is not None:
        parts.append("counts, as decided")
    elif one.run is not None:
        parts.append(_VERDICTS.get(one.run.verdict or "", one.run.state))
    return "  ".join(parts)


def _of_preparation(record: SampleRecord) -> str:
    lost = record.preparation.wash_loss_pct
    return "" if lost is None else f"{lost:.2f} % lost in washing"


def _of_cut(record: SampleRecord) -> str:
    cut = record.cut
    if cut.contradictions:
        return "masses can't be right"
    if cut.left_g is None:
        return ""
    return f"{cut.kept_g:.1f} g kept, {cut.left_g:.1f} g left"


def _of_crush(record: SampleRecord) -> str:
    evidence = record.evidence
    return "" if evidence is None else f"class so far {evidence.found.crush_class or 'none'}"


def _of_sieving(record: SampleRecord) -> str:
    found = record.sieving.analysis
    if found is not None:
        kept = "in size, conforms" if found.conforms else "does NOT conform"
        return f"{found.in_size_pct:.1f} % {kept}"
    there = len(record.sieving.masses_g)
    whole = there + len(record.sieving.missing)
    return f"{there} of {whole} weighed" if there else ""


def _of_density(record: SampleRecord) -> str:
    found = record.density.bulk_density_g_cm3
    if found is not None:
        return f"{found:.3f} g/cm3"
    cylinder = record.density.cylinder
    return "" if cylinder is None else f"cylinder {cylinder.cylinder}"


_OWN = {
    PREPARATION: _of_preparation,
    SIEVING: _of_sieving,
    CUT: _of_cut,
    DENSITY: _of_density,
    CRUSH: _of_crush,
}
