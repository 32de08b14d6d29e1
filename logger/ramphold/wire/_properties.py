"""A sample's results in the open oilfield data standard WITSML 2.1: `StimISO13503_2Properties`.

The standard's schema gives the names of the elements, their order and the symbols of units (the
place of `ApparentDensity` from memory). This is one object of that schema, without the larger
object around it.
"""

from xml.etree import ElementTree as ET

from ramphold.sample import SampleRecord

NAMESPACE = "http://www.energistics.org/energyml/data/witsmlv2"
_MOST_UID = 64
_WHAT = (
    " WITSML 2.1, object StimISO13503_2Properties: the results of one sample of proppant. Written "
    "without the enclosing object; not validated against the schema. "
)
#: Digits that no result of the program exceeds; more are rounding of binary fractions.
_DIGITS = 10


def properties_xml(record: SampleRecord) -> bytes:
    """The object as XML, without missing results and without specimens that do not count.

    Shares are in %, stresses in psi, diameters in mm, density in g/cm3, turbidity in NTU.
    """
    root = ET.Element("StimISO13503_2Properties", xmlns=NAMESPACE)
    root.set("uid", record.sample.laboratory_number[:_MOST_UID])
    root.append(ET.Comment(_WHAT))
    values = {one.name: one.value for one in record.properties}
    losses = {one.test: one.loss.loss_pct for one in record.gravimetric if one.loss is not None}
    analysis, evidence = record.sieving.analysis, record.evidence
    name = None if evidence is None else evidence.found.crush_class
    _add(root, "ClustersPercent", values.get("clusters"), "%")
    _add(root, "KValue", None if name is None else float(name.removesuffix("K")))
    _add(root, "MeanParticleDiameter", None if analysis is None else analysis.mean_mm, "mm")
    _add(root, "MedianParticleDiameter", None if analysis is None else analysis.median_mm, "mm")
    _add(root, "Roundness", values.get("roundness"))
    _add(root, "AcidSolubility", losses.get("acid solubility"), "%")
    _add(root, "ApparentDensity", values.get("apparent density"), "g/cm3")
    _add(root, "BulkDensity", record.density.bulk_density_g_cm3, "g/cm3")
    _add(root, "LossOnIgnition", losses.get("loss on ignition"), "%")
    _add(root, "Sphericity", values.get("sphericity"))
    _add(root, "Turbidity", values.get("turbidity"))
    _crush(root, record)
    _sieving(root, record)
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _crush(root: ET.Element, record: SampleRecord) -> None:
    for one in record.specimens:
        if one.counts and one.fines_pct is not None:
            point = ET.SubElement(root, "CrushTestData", uid=f"specimen-{one.number}")
            _add(point, "Fines", one.fines_pct, "%")
            _add(point, "Stress", one.added.target_psi, "psi")


def _sieving(root: ET.Element, record: SampleRecord) -> None:
    """Each sieve's share of the recovered mass, coarsest first; the pan, number 0, is last."""
    masses_g = record.sieving.masses_g
    total_g = sum(masses_g.values())
    if record.sieving.analysis is None or not total_g:
        return
    for sieve in sorted(masses_g, key=lambda number: (number == 0, number)):
        held = ET.SubElement(root, "SieveAnalysisData", uid=f"sieve-{sieve}")
        _add(held, "PercentRetained", 100 * masses_g[sieve] / total_g, "%")
        ET.SubElement(held, "SieveNumber").text = str(sieve)


def _add(parent: ET.Element, name: str, value: float | None, uom: str | None = None) -> None:
    if value is None:
        return
    element = ET.SubElement(parent, name)
    if uom is not None:
        element.set("uom", uom)
    element.text = f"{value:.{_DIGITS}g}"
