"""A sample's results as the open oilfield standard names them."""

from xml.etree import ElementTree as ET

import pytest

from ramphold.method.gravimetric import Material
from ramphold.sample import (
    DENSITY,
    SIEVING,
    BenchRecord,
    Chain,
    CylinderChosen,
    SampleReceived,
    ValueEntered,
    sample_record,
)
from ramphold.testing.samples import SampleBook
from ramphold.wire import properties_xml

RECEIVED = SampleReceived(
    record=1, sample=1, operator="KL", utc_ns=1, laboratory_number="26-0417 <a&b>",
    client_reference="pit 3", material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
)  # fmt: skip
NS = "{http://www.energistics.org/energyml/data/witsmlv2}"


def written(*records):
    chain = Chain(records=1, newest=1, sha256="")
    text = properties_xml(sample_record([RECEIVED, *records], BenchRecord(), chain))
    return ET.fromstring(text)  # noqa: S314 - our own text


def test_what_was_not_found_is_left_out():
    root = written()
    assert (root.tag, root.get("uid"), len(root)) == (
        f"{NS}StimISO13503_2Properties", "26-0417 <a&b>", 0,
    )  # fmt: skip


def test_entered_values_have_the_standards_names_and_units():
    def entered(number, what, value):
        return ValueEntered(
            record=number, sample=1, operator="KL", utc_ns=1, what=what, value=value
        )

    root = written(entered(2, "turbidity", 60.0), entered(3, "clusters", 0.5))
    found = [(one.tag.removeprefix(NS), one.get("uom"), one.text) for one in root]
    # Names and order: published, WITSML 2.1 schema.
    assert found == [("ClustersPercent", "%", "0.5"), ("Turbidity", None, "60")]


def test_a_value_has_the_digits_that_were_entered_and_no_binary_noise():
    def entered(number, what, value):
        return ValueEntered(
            record=number, sample=1, operator="KL", utc_ns=1, what=what, value=value
        )

    # 0.1 + 0.2 is 0.30000000000000004 as a binary fraction.
    root = written(entered(2, "clusters", 0.1 + 0.2), entered(3, "apparent density", 2.65))
    found = {one.tag.removeprefix(NS): (one.get("uom"), one.text) for one in root}
    assert found == {"ClustersPercent": ("%", "0.3"), "ApparentDensity": ("g/cm3", "2.65")}


def test_the_file_says_what_it_is():
    chain = Chain(records=1, newest=1, sha256="")
    text = properties_xml(sample_record([RECEIVED], BenchRecord(), chain)).decode()
    assert "WITSML 2.1, object StimISO13503_2Properties" in text


def test_losses_and_each_sieves_share_are_in_percent():
    book = SampleBook()
    for test, after_g in (("acid solubility", 4.95), ("loss on ignition", 4.9)):
        book.weigh(5.0, "before", test=test)
        book.weigh(after_g, "after", test=test)
    masses_g = {16: 0.0, 20: 4.0, 25: 20.0, 30: 30.0, 35: 30.0, 40: 10.0, 45: 4.0, 50: 1.0}
    for item, mass_g in ({"charge": 100.0} | masses_g | {"pan": 1.0}).items():
        book.weigh(mass_g, str(item), test=SIEVING)
    root = ET.fromstring(properties_xml(book.record()))  # noqa: S314 - our own text
    # Names: published, WITSML 2.1 schema. Shares by hand, of a charge of 100 g.
    losses = [(root.find(NS + name).text, root.find(NS + name).get("uom"))
              for name in ("AcidSolubility", "LossOnIgnition")]  # fmt: skip
    assert losses == [("1", "%"), ("2", "%")]
    shares = [float(one.find(f"{NS}PercentRetained").text)
              for one in root.findall(f"{NS}SieveAnalysisData")]  # fmt: skip
    assert shares == pytest.approx([*masses_g.values(), 1.0])
    numbers = [one.find(f"{NS}SieveNumber").text for one in root.findall(f"{NS}SieveAnalysisData")]
    assert numbers == [*map(str, masses_g), "0"]
    mean = root.find(f"{NS}MeanParticleDiameter")
    assert (float(mean.text), mean.get("uom")) == (
        pytest.approx(book.record().sieving.analysis.mean_mm), "mm",
    )  # fmt: skip


def test_a_sieve_analysis_that_is_not_whole_is_left_out():
    book = SampleBook()
    book.weigh(12.0, "30", test=SIEVING)
    root = ET.fromstring(properties_xml(book.record()))  # noqa: S314 - our own text
    assert root.findall(f"{NS}SieveAnalysisData") == []


def test_of_the_specimens_those_that_count_are_written_with_stress_and_fines():
    book = SampleBook()
    book.crushed(1)
    book.crushed(2, 2.4, 5000.0)
    book.crushed(3, verdict="fail")
    root = ET.fromstring(properties_xml(book.record()))  # noqa: S314 - our own text
    # 2 g and 2.4 g of 40 g. Names: published, WITSML 2.1 schema.
    assert [
        (one.get("uid"), [(part.tag.removeprefix(NS), part.get("uom"), part.text) for part in one])
        for one in root.findall(f"{NS}CrushTestData")
    ] == [
        ("specimen-1", [("Fines", "%", "5"), ("Stress", "psi", "4000")]),
        ("specimen-2", [("Fines", "%", "6"), ("Stress", "psi", "5000")]),
    ]


def test_a_whole_sample_has_every_result_under_its_name_in_the_standards_order():
    book = SampleBook()
    for what, value in (("clusters", 0.5), ("roundness", 0.7), ("sphericity", 0.8),
                        ("apparent density", 2.65), ("turbidity", 60.0)):  # fmt: skip
        book.write(ValueEntered, what=what, value=value)
    for test in ("acid solubility", "loss on ignition"):
        book.weigh(5.0, "before", test=test)
        book.weigh(4.95, "after", test=test)
    book.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    book.weigh(160.0, "fill", test=DENSITY)
    for item in ("16", "20", "25", "30", "35", "40", "45", "50", "pan", "charge"):
        book.weigh(100.0 if item in ("30", "charge") else 0.0, item, test=SIEVING)
    book.crushed(1)
    root = ET.fromstring(properties_xml(book.record()))  # noqa: S314 - our own text
    tags = ("CrushTestData", "SieveAnalysisData")
    found = [(one.tag.removeprefix(NS), one.get("uom"), one.text) for one in root]
    # Names and order: published, WITSML 2.1 schema. By hand: all on No. 30 is between 0.710 and
    # 0.600 mm; 160 g in 100 cm3; 5 % of fines at 4000 psi, where up to 10 % is class 4K.
    assert [one for one in found if one[0] not in tags] == [
        ("ClustersPercent", "%", "0.5"),
        ("KValue", None, "4"),
        ("MeanParticleDiameter", "mm", "0.655"),
        ("MedianParticleDiameter", "mm", "0.655"),
        ("Roundness", None, "0.7"),
        ("AcidSolubility", "%", "1"),
        ("ApparentDensity", "g/cm3", "2.65"),
        ("BulkDensity", "g/cm3", "1.6"),
        ("LossOnIgnition", "%", "1"),
        ("Sphericity", None, "0.8"),
        ("Turbidity", None, "60"),
    ]


def test_it_is_a_file_for_readers_too_a_declaration_and_a_line_for_each_value():
    book = SampleBook()
    book.write(ValueEntered, what="turbidity", value=60.0)
    first, *_, value, last = properties_xml(book.record()).decode().splitlines()
    assert first == "<?xml version='1.0' encoding='utf-8'?>"
    assert (value, last) == ("  <Turbidity>60</Turbidity>", "</StimISO13503_2Properties>")
