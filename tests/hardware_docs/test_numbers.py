"""The figures of the hardware pages, computed again in other ways."""

import math
from pathlib import Path

import pint
import pytest

ROOT = Path(__file__).parents[2]
ureg = pint.UnitRegistry()


def test_the_forces_of_the_capacity_table_agree_with_pint(readme, table_under):
    rows = table_under(readme, "stress, psi", "force, lbf", "force, kN")
    assert [int(stress) for stress, _, _ in rows][-1] == 15_000
    area = math.pi / 4 * (2 * ureg.inch) ** 2
    for stress, lbf, kn in rows:
        force = int(stress) * ureg.psi * area
        assert int(lbf) == round(force.m_as("lbf"))
        assert float(kn) == pytest.approx(force.m_as("kN"), abs=0.05)


def test_the_share_of_the_range_follows_from_the_full_scale_of_the_data_sheet(readme, table_under):
    # published: HX711 data sheet p. 4: full scale +-0.5 supply / gain
    supply_v = 5.0
    for sensitivity, gain, share in table_under(readme, "cell, mV/V", "gain", "share"):
        signal_v = float(sensitivity) / 1000 * supply_v
        full_scale_v = 0.5 * supply_v / int(gain)
        assert float(share) == pytest.approx(signal_v / full_scale_v, abs=0.0005)
        assert float(share) < 0.9


def test_the_noise_in_pounds_follows_from_the_noise_in_volts(readme):
    # published: a scale board's hook-up guide: 50 nV at 10/s, 90 nV at 80/s
    at_capacity = 2e-3 * 5
    noise_lbf = [nv * 1e-9 / at_capacity * 50_000 for nv in (50, 90)]
    assert noise_lbf == pytest.approx([0.25, 0.45])
    assert "0.25 and 0.45 lbf of 50 000" in readme


def test_the_cost_of_a_long_excitation_pair_is_that_of_copper(readme):
    # from memory: copper 0.0175 ohm mm2/m and 0.39 %/K
    pair_ohm = 2 * 5 * 0.0175 / 0.14
    loss_pct = 100 * pair_ohm / (350 + pair_ohm)
    assert f"{pair_ohm:.2f} Ω in the pair, so {loss_pct:.2f} %" in readme
    assert f"{loss_pct * 0.0039 * 10:.3f} % for 10 °C" in readme


def test_the_current_loops_counts_follow_from_the_converters_scale():
    # published: ti-ads1015.c: 0.125 mV a count at +-4.096 V
    note = (ROOT / "firmware-notes/converter.md").read_text()
    counts = {ma: round(ma * 100 / 0.125) for ma in (4, 20, 3.6, 21)}
    assert f"{counts[4]} to {counts[20]} counts" in note
    assert f"({counts[3.6]} counts)" in note
    assert f"({counts[21]} counts)" in note


def test_the_kernels_scales_follow_from_its_integer_formula_and_from_the_supply(table_under):
    # published: torvalds/linux drivers/iio/adc/hx711.c commit 0099e82
    note = (ROOT / "firmware-notes/converter.md").read_text()
    rows = table_under(note, "supply, V", "gain 128", "gain 64", "gain 32")
    assert [row[0] for row in rows] == ["5.0", "4.3", "3.3", "2.7"]
    for supply, *scales in rows:
        supply_uv = round(float(supply) * 1e6)
        for gain, scale in zip((128, 64, 32), scales, strict=True):
            assert scale == f"0.{supply_uv * 100 // gain // 1678:09d}"
            exact_mv = float(supply) * 1000 / gain / 2**24
            assert float(scale) == pytest.approx(exact_mv, rel=1e-3)


def test_no_page_says_where_it_was_made_or_names_a_registry():
    for page in [*ROOT.glob("hardware/**/*"), *ROOT.glob("systemd/*")]:
        if page.is_file():
            text = page.read_text()
            assert "/work" not in text, page
            assert "/tmp/" not in text, page  # noqa: S108
            assert "pypi" not in text.lower(), page
