"""A sample's results as the open oilfield standard names them."""

from xml.etree import ElementTree as ET

import pytest

from ramphold.method.gravimetric import Material
from ramphold.sample import SIEVING, BenchRecord, Chain, SampleReceived, ValueEntered, sample_record
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
