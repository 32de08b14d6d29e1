"""Over time: charts whose points lead on, and what is due."""

import re
from xml.etree import ElementTree as ET

import pytest


@pytest.mark.parametrize("by", ["press", "cell", "operator", "nothing"])
def test_the_control_sand_has_a_chart_whose_points_lead_to_their_samples(ask, by):
    page = ask("over-time", params={"by": by})
    assert page.status_code == 200
    chart = ET.fromstring(re.search(r"<svg.*?</svg>", page.text, re.DOTALL)[0])  # noqa: S314 - ours
    links = [one for one in chart if one.tag == "a"]
    assert len(links) == 2
    for one in links:
        assert re.match(r"C-[12], 2026-03-03: \d+\.\d\d % of 2 specimens", one.get("aria-label"))
        assert ask(one.get("href")).status_code == 200
    assert "not complete: nothing is judged yet" in page.text


def test_a_source_shows_its_class_and_the_mean_fines_of_each_stress(ask):
    page = ask("over-time", params={"source": "Northern Pit"}).text
    assert re.search(r'aria-label="26-0417, 2026-03-03: 9K"', page)
    for stress in ("8000", "9000", "10000"):
        assert re.search(rf"% of 3 specimens at {stress} psi", page)
    unknown = ask("over-time", params={"source": "nobody's"}).text
    assert "No sample of that source was filed." in unknown


def test_a_hostile_source_is_a_text_and_nothing_else(ask):
    hostile = "<script>alert(1)</script>\"'&{{7*7}}\u202eevil"
    page = ask("over-time", params={"source": hostile}).text
    assert "<script>alert" not in page
    assert "\u202e" not in page
    assert "Mean fines of &lt;script&gt;" in page


def test_certificates_wear_and_their_last_days_stand_there(ask):
    page = ask("over-time").text
    assert re.search(r"2027-01-13</th><td>certificate LC-26-014</td><td>p1</td>", page)
    assert re.search(r">cell A</th><td>p1</td><td class=\"num\">\d+</td>", page)
    assert "sieve S40, No. 40" in page
