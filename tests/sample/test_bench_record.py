"""What a bench has, put together from its own records: the newest of each, by name."""

import pytest

from ramphold.keys.key_change import KeyChange
from ramphold.method.precision import Precision, Spread
from ramphold.sample import (
    BenchRecord,
    CertificateTaken,
    CylinderCalibrated,
    Equipment,
    EquipmentChecked,
    EquipmentState,
    KeyChanged,
    RunDecided,
    SieveChosen,
    SieveUse,
    bench_record,
)


def calibrated(cylinder, volume_cm3):
    return CylinderCalibrated(
        operator="KL", utc_ns=0, cylinder=cylinder, water_g=99.7, temp_c=23.0, volume_cm3=volume_cm3
    )


def certificate(name):
    return CertificateTaken(
        operator="KL", utc_ns=0, certificate=name, instrument="load", serial="1", by="AB",
        date="2026-01-01", due="2027-01-01", unit="lbf", expanded_uncertainty=1.0,
        coverage_factor=2.0, sha256="",
    )  # fmt: skip


def checked(name, equipment=Equipment.INSTRUMENT, **fields):
    return EquipmentChecked(
        operator="KL", equipment=equipment, name=name, **({"utc_ns": 0, "finding": "x"} | fields)
    )


def state(name, **fields):
    return EquipmentState(check=checked(name, **fields), uses=0)


def no_uses(*_):
    return 0


def test_a_cylinder_has_its_newest_volume_and_a_certificate_is_found_by_its_id():
    bench = bench_record(
        [calibrated("C1", 100.0), calibrated("C2", 50.0), calibrated("C1", 100.2),
         certificate("L-1"), certificate("L-2")],
        no_uses,
    )  # fmt: skip
    assert (bench.cylinder("C1").volume_cm3, bench.cylinder("C2").volume_cm3) == (100.2, 50.0)
    assert bench.certificate("L-2").certificate == "L-2"
    assert (bench.cylinder("C3"), bench.certificate("L-3")) == (None, None)


def test_the_own_spread_is_that_within_the_control_samples():
    within = Spread(sd=0.3, dof=12)
    bench = BenchRecord(laboratory=Precision(within=within, between=None, sources=()))
    assert (bench.own_spread, BenchRecord().own_spread) == (within, None)


def test_instruments_for_a_test_are_those_in_use_by_serial():
    bench = BenchRecord(
        equipment=(
            state("T-2", test="turbidity"),
            state("T-1", test="turbidity"),
            state("T-0", test="turbidity", usable=False),
            state("A-1", test="acid solubility"),
            state("C", equipment=Equipment.CELL),
        )
    )
    assert [one.name for one in bench.instruments("turbidity")] == ["T-1", "T-2"]
    assert bench.instruments("") == ()


def test_uses_of_a_cell_count_from_when_it_was_new_and_those_of_others_from_their_check():
    since = {}

    def uses(check, utc_ns):
        since[check.name] = utc_ns
        return 5

    found = bench_record(
        [
            checked("cell", Equipment.CELL, utc_ns=10, new=True),
            checked("cell", Equipment.CELL, utc_ns=20),
            checked("sieve", Equipment.SIEVE, utc_ns=10, new=True, sieve=40),
            checked("sieve", Equipment.SIEVE, utc_ns=20, sieve=40),
            checked("old cell", Equipment.CELL, utc_ns=20),
        ],
        uses,
    )
    assert since == {"cell": 10, "sieve": 20, "old cell": 0}
    assert [(one.check.utc_ns, one.uses) for one in found.equipment] == [(20, 5)] * 3


@pytest.mark.parametrize(
    ("check", "title"),
    [
        (checked("A", Equipment.CELL), "cell A"),
        (checked("S-40", Equipment.SIEVE, sieve=40), "sieve S-40, No. 40"),
        (checked("T-1", test="turbidity"), "instrument T-1, turbidity"),
    ],
)
def test_a_check_is_titled_by_what_a_person_calls_the_thing(check, title):
    assert check.title == title


def test_the_record_of_a_key_change_is_its_statement_and_back():
    change = KeyChange(
        whose="bench", old="aa" * 32, new="bb" * 32, by="KL", reason="lost card", utc_ns=7,
        by_old="cc" * 64, by_new="dd" * 64,
    )  # fmt: skip
    record = KeyChanged.of(change)
    assert (record.operator, record.utc_ns, record.new) == ("KL", 7, "bb" * 32)
    assert record.change == change


@pytest.mark.parametrize(
    ("opening_mm", "allowed"),
    # ASTM E11 Table 1: No. 40 is 0.425 mm, its mean within 15.5 um.
    [(None, True), (0.4404, True), (0.4407, False), (0.4096, True), (0.4093, False)],
)
def test_a_chosen_sieve_is_allowed_unless_it_was_measured_off_astm_e11(opening_mm, allowed):
    chosen = SieveChosen(
        operator="KL", utc_ns=0, use=SieveUse.CUT, serial="A", sieve=40, check=1,
        opening_mm=opening_mm,
    )  # fmt: skip
    assert chosen.is_allowed is allowed


def test_a_decision_follows_its_run_in_words():
    def decided(*, counts):
        return RunDecided(operator="KL", utc_ns=0, specimen=1, run=1, counts=counts, reason="x")

    assert (decided(counts=True).words, decided(counts=False).words) == ("counts", "does not count")
