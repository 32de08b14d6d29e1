"""Certificates in their folder, and what the one in force makes of a reading."""

import datetime as dt
import math
from functools import partial

import pytest

from ramphold.core import Calibration, Quality, Reading
from ramphold.daemon._sections import In2, Psi
from ramphold.daemon.calibration_in_force import CalibrationInForce, status
from ramphold.daemon.certificates import Certificates, today
from ramphold.daemon.config import CalibrationConfig, Lbf
from ramphold.daemon.loads.bridge_load import BridgeConfig
from ramphold.daemon.loads.iio_load import IioConfig, LoopConfig
from ramphold.daemon.loads.indicator_load import IndicatorConfig
from ramphold.errors import ConfigError, InputError
from support import certificates
from support.configs import bench_config

INDICATOR = IndicatorConfig(port="none", capacity=Lbf(50_000))
BRIDGE = BridgeConfig(capacity=Lbf(50_000))
DAY_NS = 86_400 * 10**9
#: 2026-11-25, at one o'clock UTC.
NOON_NS = 1_795_611_600 * 10**9


#: Ten days before it falls due.
certificate = partial(certificates.certificate, due=dt.date(2026, 12, 5), coefficients=(4.5, 1.2))


@pytest.fixture
def folder(tmp_path):
    def put(*certificates):
        for one in certificates:
            (tmp_path / f"{one.id}.toml").write_text(one.text())
        return Certificates(tmp_path)

    return put


def gauge(held, channel=INDICATOR, **chosen):
    config = bench_config(load=channel, calibration=CalibrationConfig(folder="none", **chosen))
    return CalibrationInForce(config, held)


def reading(force_lbf, **changed):
    return Reading(t_ns=1, force_lbf=force_lbf, raw=12345, exponent=-1, **changed)


def test_a_reading_is_corrected_by_the_certificate_and_its_raw_digits_stay(folder):
    found = gauge(folder(certificate())).correct(reading(1234.5))
    # By the certificate: 4.5 off, the rest over 1.2.
    assert (found.force_lbf, found.raw, found.exponent) == (1025.0, 12345, -1)


def test_readings_count_from_the_zero_that_was_taken_last(folder):
    held = gauge(folder(certificate(zero=10.0)))
    assert held.correct(reading(1244.5)).force_lbf == 1025.0
    held.take_zero(20.0)
    assert held.correct(reading(1254.5)).force_lbf == 1025.0
    assert held.calibration(NOON_NS).zero == 20.0


def test_a_certificate_in_another_unit_of_reading_is_used_in_that_unit(folder):
    kilo = certificate(reading_unit="kN", coefficients=(0.0, 0.005))
    # 44.482216152605 N are 10 lbf: exact. 0.044482216152605 kN / 0.005 = 8.896...
    found = gauge(folder(kilo)).correct(reading(10.0))
    assert found.force_lbf == pytest.approx(0.044482216152605 / 0.005, rel=1e-14)


@pytest.mark.parametrize("quality", [Quality.SATURATED, Quality.GARBLED])
def test_a_reading_without_a_force_stays_as_it_is(folder, quality):
    empty = reading(math.nan, quality=quality)
    assert gauge(folder(certificate())).correct(empty) is empty


def test_a_reading_past_where_the_curve_turns_is_over_range(folder):
    bent = certificate(model="quadratic", coefficients=(0.0, 1.0, -9e-6))
    found = gauge(folder(bent)).correct(reading(90_000.0))
    assert (found.quality, math.isnan(found.force_lbf)) == (Quality.OVER_RANGE, True)


def test_counts_are_scaled_by_the_certificate_and_not_corrected_again(folder):
    held = gauge(folder(certificate(reading_unit="count", zero=7.0)), BRIDGE)
    scale = held.scale()
    assert (scale.zero, scale.curve.force_lbf(1230.0 + 4.5)) == (7.0, 1025.0)
    counted = reading(1.0, unit="count")
    assert held.correct(counted) is counted


def test_without_a_certificate_readings_stay_and_a_run_says_that_there_was_none(folder):
    held = gauge(folder())
    one = reading(5.0)
    assert held.correct(one) is one
    assert held.scale() is None
    assert held.calibration(NOON_NS) == Calibration()


def test_the_newest_is_in_force_and_an_older_one_may_be_chosen(folder):
    both = folder(certificate("OLD", date=dt.date(2025, 1, 1)), certificate("NEW"))
    assert gauge(both).certificate.id == "NEW"
    assert gauge(both, load="OLD").certificate.id == "OLD"
    none = gauge(both, load="X")
    assert none.certificate is None
    assert "[calibration] has 'X': expected the id of a cert" in none.troubles[0]


def test_a_balances_certificate_is_not_the_loads(folder):
    weights = certificate("W-1", unit="g", reading_unit="g")
    held = gauge(folder(certificate(), weights))
    assert (held.certificate.id, held.balance.id) == ("C-1", "W-1")


def test_a_certificate_dated_later_than_today_is_told_and_the_run_says_by_how_much(folder):
    held = gauge(folder(certificate()))
    before_ns = NOON_NS - 400 * DAY_NS
    made = dt.datetime.combine(held.certificate.date, dt.time(12), dt.UTC)
    made_ns = round(made.timestamp()) * 10**9
    assert [held.calibration(made_ns - days * DAY_NS).days_early for days in range(-1, 4)] == [
        *(0, 0, 0),  # the laboratory's day may be one ahead of UTC
        *(2, 3),
    ]
    assert held.calibration(before_ns).days_early > 2
    told = f"C-1, dated {held.certificate.date}, later than today: look at clock and date"
    assert status(held.certificate, before_ns) == told


def test_a_certificate_past_its_day_goes_on_correcting_and_the_run_says_so(folder):
    held = gauge(folder(certificate()))
    assert held.calibration(NOON_NS).days_left == 10
    late_ns = NOON_NS + 11 * DAY_NS
    assert held.calibration(late_ns) == Calibration(certificate="C-1", days_left=-1)
    assert held.correct(reading(1234.5)).force_lbf == 1025.0
    assert status(held.certificate, NOON_NS) == "C-1, in force until 2026-12-05"
    assert status(held.certificate, late_ns) == "C-1, past due since 2026-12-05"
    assert status(None, NOON_NS) == "no certificate"


@pytest.mark.parametrize(
    ("load", "unit", "expected"),
    [
        (INDICATOR, "count", "a unit of force"),
        (BRIDGE, "lbf", "count"),
        (BRIDGE, "mV/V", "count"),
        (INDICATOR, "mV", "a uni"),
    ],
)
def test_a_certificate_of_other_readings_than_the_loads_is_refused(folder, load, unit, expected):
    held = gauge(folder(certificate(reading_unit=unit)), load)
    assert held.certificate is None
    assert f"reading_unit '{unit}': expected {expected}" in held.troubles[0]
    with pytest.raises(ConfigError, match="reading_unit"):
        held.check(certificate(reading_unit=unit))


def test_a_file_that_is_no_certificate_is_named_and_the_others_serve(folder, tmp_path):
    (tmp_path / "a.toml").write_text("id = 3")
    held = gauge(folder(certificate()))
    assert held.certificate.id == "C-1"
    assert "a.toml: id: found a whole number: expected text in quotes" in held.troubles[0]


def test_the_second_of_two_files_of_one_id_does_not_serve(tmp_path):
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text(certificate().text())
    held = gauge(Certificates(tmp_path))
    assert held.certificate.id == "C-1"
    assert "b.toml: id C-1 is taken by another file" in held.troubles[0]


def test_a_balance_is_corrected_by_a_certificate_of_masses_alone(folder):
    scale = certificate("B-1", unit="g", reading_unit="mg", coefficients=(0.0, 1000.5))
    assert gauge(folder(scale)).balance == scale
    # 40.02 g shown are 40020 mg; over 1000.5 mg/g.
    assert scale.mass_g(40.02) == 40.0
    wrong = gauge(folder(certificate("B-1", unit="g", reading_unit="lbf")))
    assert wrong.balance is None
    assert "reading_unit 'lbf': expected one of g, mg" in wrong.troubles[0]


def test_a_new_certificate_is_a_new_file_and_an_old_one_is_never_written_over(tmp_path):
    held = Certificates(tmp_path / "new folder")
    path = held.add(certificate())
    assert path.read_text() == certificate().text()
    with pytest.raises(InputError, match="id C-1 is taken: expected a new one"):
        held.add(certificate(serial="8"))
    with pytest.raises(InputError, match=r"expected \[calibration\] folder"):
        Certificates(None).add(certificate())


def test_a_day_is_that_of_utc():
    assert today(NOON_NS) == dt.date(2026, 11, 25)


def test_a_load_by_oil_pressure_is_told_to_the_run(folder):
    loop = LoopConfig(range=Psi(10_000), ram_area=In2(5.16))
    iio = IioConfig(capacity=Lbf(50_000), device="ads1015", readings_per_s=40, transducer=loop)
    assert gauge(folder(), iio).calibration(NOON_NS) == Calibration(by_pressure=True)
    assert gauge(folder(certificate()), iio).calibration(NOON_NS).by_pressure
    assert not gauge(folder(certificate())).calibration(NOON_NS).by_pressure
