"""A sample put together from its records, and the rules of what may be written."""

import math
import random
import statistics

import msgspec
import pytest

from ramphold.errors import CommandRefused, InputError
from ramphold.method.gravimetric import Material
from ramphold.method.precision import Precision, Spread
from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    BenchRecord,
    Chain,
    ControlAnswered,
    ControlPoint,
    CylinderChosen,
    ExclusionDecided,
    Load,
    MassTaken,
    People,
    PersonAdded,
    Reviewed,
    Role,
    SampleCorrected,
    SampleRecord,
    SampleState,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    ValueEntered,
    WeighingPlace,
    check_place,
    check_review,
    check_weighing,
    control_points,
    laboratory_precision,
    net_g,
    sample_record,
    standing,
    state_of,
)


def test_a_whole_sample_goes_through_json_and_comes_back(book):
    sheet = book(tests=(SIEVING, CRUSH, "acid solubility"))
    sheet.crushed(1)
    sheet.weigh(30.0, "before", test="acid solubility")
    sheet.weigh(29.8, "after", test="acid solubility")
    sheet.weigh(12.0, "30", test=SIEVING)
    sheet.write(ValueEntered, what="roundness", counts=((0.5, 10), (0.7, 10)))
    record = sheet.record()
    assert msgspec.json.decode(msgspec.json.encode(record), type=SampleRecord) == record


def test_corrections_hold_in_order_and_the_receipt_stays(book):
    sheet = book()
    for field, value in (("size", "30/50"), ("size", "40/70"), ("tests", "crush, turbidity")):
        sheet.write(SampleCorrected, field=field, value=value, reason="label misread")
    record = sheet.record()
    assert (record.sample.size, record.sample.tests) == ("40/70", ("crush", "turbidity"))
    assert record.sample.laboratory_number == "26-0417"
    assert len(record.corrections) == 3


def test_a_sample_begins_with_its_receipt(book):
    for records in ([], book().records[1:], [Reviewed(operator="MM", utc_ns=1)]):
        with pytest.raises(InputError, match="begin with its receipt"):
            sample_record(records, BenchRecord(), Chain(records=0, newest=0, sha256=""))


def test_a_correction_of_a_mass_is_listed_and_the_right_one_stands(book):
    sheet = book()
    wrong = sheet.weigh(21.0, "30", test=SIEVING)
    sheet.weigh(12.0, "30", test=SIEVING, corrects=wrong.record, reason="digits swapped")
    record = sheet.record()
    assert record.sieving.masses_g == {30: 12.0}
    assert [one.reason for one in record.corrections] == ["digits swapped"]


def test_masses_that_can_not_be_right_give_no_analysis_until_one_is_corrected(book):
    sheet = book()
    sheet.weigh(100.0, "charge", test=SIEVING)
    for item in ("16", "20", "25", "30", "35", "40", "50", "pan"):
        sheet.weigh(0.0, item, test=SIEVING)
    sieving = sheet.record().sieving
    assert (sieving.missing, sieving.analysis) == ((), None)


STACK = ("16", "20", "25", "30", "35", "40", "50", "pan")


def test_what_of_the_stack_is_not_weighed_yet_is_told_the_pan_by_its_name(book):
    sheet = book()
    assert sheet.record().sieving.missing == STACK
    sheet.weigh(12.0, "30", test=SIEVING)
    assert sheet.record().sieving.missing == tuple(one for one in STACK if one != "30")


@pytest.mark.parametrize("missing", ["charge", "16", "30", "pan", "45"])
def test_there_is_no_analysis_before_charge_sieves_and_pan_are_all_weighed(book, missing):
    sheet = book()
    for item in ("charge", *STACK):
        if item != missing:
            sheet.weigh(80.0 if item == "charge" else 10.0, item, test=SIEVING)
    if missing == "45":  # one more than the stack has, of which the empty sieve alone is weighed
        sheet.weigh(400.0, "45", Load.TARE, SIEVING)
    assert sheet.record().sieving.analysis is None
    item, load = (missing, Load.GROSS if missing == "45" else Load.NET)
    sheet.weigh({"charge": 80.0, "45": 400.1}.get(missing, 10.0), item, load, SIEVING)
    assert sheet.record().sieving.analysis is not None


def test_a_sieve_that_the_stack_has_not_is_used_and_found(book):
    sheet = book()
    for item in ("charge", "16", "20", "25", "30", "35", "40", "50", "pan", "45"):
        sheet.weigh(100.0 if item == "charge" else 11.1, item, test=SIEVING)
    assert "No. 45 is not in the stack for 20/40" in sheet.record().sieving.analysis.findings


def test_the_openings_of_the_analysis_are_those_of_the_sieves_that_were_chosen(book):
    sheet = book()
    for sieve, opening_mm in ((40, 0.431), (30, None)):
        sheet.write(
            SieveChosen, use=SieveUse.STACK, serial=f"S-{sieve}", sieve=sieve, check=1,
            opening_mm=opening_mm,
        )  # fmt: skip
    found = sheet.record().share_openings
    # ASTM E11: No. 30 is 0.600 mm, which holds where it was not measured.
    assert {at: (one.serial, one.mean_mm, one.measured) for at, one in found.items()} == {
        40: ("S-40", 0.431, True), 30: ("S-30", 0.6, False),
    }  # fmt: skip


def test_a_class_has_a_probability_once_there_is_a_spread(book):
    sheet = book()
    assert sheet.record().class_probability is None
    sheet.crushed(1)
    assert sheet.record().class_probability is None
    sheet.crushed(2, 2.1)
    record = sheet.record()
    found = record.evidence
    assert record.class_probability == found.probability(found.found.crush_class) > 0.5


def test_the_certificates_behind_a_sample_are_those_of_its_runs_and_masses(book):
    sheet = book()
    sheet.specimen(1)
    sheet.weigh(40.0, "charge", specimen=1, certificate="B-1")
    sheet.weigh(2.0, "pan", specimen=1)
    sheet.run(1, certificates=("L-1", "L-2"))
    assert sheet.record().certificates_cited == {"B-1", "L-1", "L-2"}


def test_masses_before_and_after_that_can_not_be_right_give_no_loss(book):
    sheet = book(tests=("acid solubility",))
    sheet.weigh(0.0, "before", test="acid solubility")
    assert sheet.record().gravimetric[0].loss is None
    sheet.weigh(0.0, "after", test="acid solubility")
    (found,) = sheet.record().gravimetric
    assert (found.before_g, found.after_g, found.loss) == (0.0, 0.0, None)


def test_a_test_that_is_asked_for_or_begun_is_on_the_worksheet(book):
    sheet = book(tests=("acid solubility",))
    sheet.weigh(30.0, "before", test="loss on ignition")
    assert {one.test: one.before_g for one in sheet.record().gravimetric} == {
        "acid solubility": None, "loss on ignition": 30.0,
    }  # fmt: skip


def test_the_grains_of_a_shape_are_counted_from_none(book):
    sheet = book()
    sheet.write(ValueEntered, what="roundness", counts=((0.5, 10), (0.7, 10), (0.7, 20)))
    (found,) = sheet.record().properties
    assert found.value == pytest.approx((10 * 0.5 + 30 * 0.7) / 40)


def test_a_fill_of_the_cylinder_with_a_little_sand_is_one(book):
    sheet = book()
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=1.0, calibration=1)
    sheet.weigh(0.9, "fill", test="bulk density")
    assert sheet.record().density.bulk_density_g_cm3 == pytest.approx(0.9)


def test_a_fill_of_the_cylinder_without_sand_is_no_determination(book):
    sheet = book()
    sheet.write(CylinderChosen, cylinder="C1", volume_cm3=100.0, calibration=1)
    sheet.weigh(0.0, "fill", test="bulk density")
    assert sheet.record().density.determinations_g_cm3 == ()
    assert sheet.record().density.bulk_density_g_cm3 is None


def test_operators_are_named_once_and_reviewers_apart(book):
    sheet = book()
    sheet.weigh(1.0, "30", test=SIEVING, operator="AB")
    sheet.weigh(1.0, "35", test=SIEVING)
    sheet.write(Reviewed, operator="MM")
    assert sheet.record().operators == ("KL", "AB")


def test_the_state_follows_from_the_kinds_of_the_records():
    assert state_of(["sample", "stress plan"]) is SampleState.RECEIVED
    assert state_of(["sample", "sample correction", "stress plan"]) is SampleState.RECEIVED
    assert state_of(["sample", "mass"]) is SampleState.IN_TEST
    assert state_of(["sample", "mass", "review"]) is SampleState.REVIEWED
    assert state_of(["sample", "mass", "review", "report"]) is SampleState.REPORTED
    assert state_of(["sample", "mass", "review", "report", "mass"]) is SampleState.IN_TEST


def test_a_reviewer_of_other_reviews_only_may_review_again(book):
    sheet = book()
    sheet.weigh(1.0, "30", test=SIEVING)
    sheet.write(Reviewed, operator="MM")
    check_review(sheet.records, "MM", People())
    with pytest.raises(CommandRefused, match="KL recorded part of this"):
        check_review(sheet.records, "KL", People())


def test_nothing_is_reviewed_before_something_is_tested(book):
    sheet = book()
    sheet.write(SampleCorrected, field="size", value="30/50", reason="label misread")
    with pytest.raises(CommandRefused, match="nothing of this sample has been tested yet"):
        check_review(sheet.records, "MM", People())


def test_a_reviewer_with_two_initials_is_known_by_the_key(book):
    sheet = book()
    sheet.weigh(1.0, "30", test=SIEVING)
    people = People(
        PersonAdded(
            record=1, operator=initials, utc_ns=0, initials=initials, name=name, function="analyst",
            key="aa" * 32,
        )
        for initials, name in (("KL", "Kim Lund"), ("XX", "Xaver X"))
    )  # fmt: skip
    with pytest.raises(CommandRefused, match="XX recorded part of this sample, as KL: expected"):
        check_review(sheet.records, "XX", people)


@pytest.mark.parametrize(
    ("test", "item", "refused"),
    [
        (SIEVING, "30", None),
        ("cylinder", "C1", None),
        (DENSITY, "fill 10", None),
        (DENSITY, "fill 11", "bulk density has no 'fill 11' to weigh"),
        ("cylinder", " ", "nothing is weighed for 'cylinder'"),
        ("colour", "before", "nothing is weighed for 'colour': expected one of preparation, "),
        (SIEVING, "31", "sieve analysis has no '31' to weigh: expected one of charge, "),
        ("acid solubility", "between", "acid solubility has no 'between' to weigh"),
    ],
)
def test_a_mass_belongs_to_a_test_and_an_item_that_it_has(test, item, refused):
    place = WeighingPlace(test=test, item=item)
    if refused is None:
        check_place(place)
        return
    with pytest.raises(InputError, match=refused):
        check_place(place)


@pytest.mark.parametrize("item", ["charge", "pan", "retained"])
def test_a_specimens_masses_have_a_place_with_its_number_only(item):
    check_place(WeighingPlace(test=CRUSH, item=item, specimen=3))
    with pytest.raises(InputError, match="expected a specimen's number with crush"):
        check_place(WeighingPlace(test=CRUSH, item=item))


def masses(*taken):
    return standing(
        MassTaken(record=number, operator="KL", utc_ns=1, t_ns=1, test=SIEVING, item="30",
                  load=load, mass_g=mass_g)
        for number, (load, mass_g) in enumerate(taken, 1)
    )  # fmt: skip


def test_a_net_mass_is_weighed_as_such_or_as_gross_less_tare():
    assert net_g(masses((Load.NET, 12.5)), SIEVING, "30") == 12.5
    assert net_g(masses((Load.TARE, 400.0), (Load.GROSS, 412.5)), SIEVING, "30") == 12.5
    assert net_g(masses((Load.TARE, 400.0)), SIEVING, "30") is None
    assert net_g({}, SIEVING, "30") is None


def pan(load):
    return WeighingPlace(test=CRUSH, item="pan", load=load, specimen=1)


def weighed(load, mass_g):
    return MassTaken(record=1, operator="KL", utc_ns=1, t_ns=1, test=CRUSH, item="pan",
                     load=load, specimen=1, mass_g=mass_g)  # fmt: skip


@pytest.mark.parametrize(
    ("there", "load", "kept_g", "refused_g"),
    [
        (weighed(Load.TARE, 112.0), Load.GROSS, 111.99, 111.989),
        (weighed(Load.GROSS, 112.0), Load.TARE, 112.01, 112.011),
    ],
)
def test_a_pan_may_weigh_less_full_than_empty_by_what_a_balance_repeats_to(
    there, load, kept_g, refused_g
):
    check_weighing(standing([there]), pan(load), kept_g, None)
    with pytest.raises(CommandRefused, match=r"than its (tare|gross), 112 g"):
        check_weighing(standing([there]), pan(load), refused_g, None)


@pytest.mark.parametrize(
    ("there", "load", "mass_g", "told"),
    [
        ([(Load.TARE, 400.0)], Load.TARE, 1.0, "is there already, 400 g: correct mass 1"),
        ([(Load.TARE, 400.0)], Load.NET, 1.0, "net or by tare and gross, not both"),
        ([(Load.NET, 12.0)], Load.GROSS, 500.0, "net or by tare and gross, not both"),
        ([(Load.TARE, 400.0)], Load.GROSS, 399.0, "lighter than its tare, 400 g"),
        ([(Load.GROSS, 400.0)], Load.TARE, 401.0, "heavier than its gross, 400 g"),
    ],
)
def test_a_mass_that_does_not_fit_those_that_stand_is_refused(there, load, mass_g, told):
    with pytest.raises(CommandRefused, match=told):
        check_weighing(
            masses(*there), WeighingPlace(test=SIEVING, item="30", load=load), mass_g, None
        )


def test_more_in_a_pan_than_its_charge_is_another_specimens_pan():
    charge = MassTaken(record=2, operator="KL", utc_ns=1, t_ns=1, test=CRUSH, item="charge",
                       load=Load.NET, specimen=1, mass_g=40.0)  # fmt: skip
    there = standing([weighed(Load.TARE, 112.0), charge])
    check_weighing(there, pan(Load.GROSS), 152.0, None)
    with pytest.raises(CommandRefused, match=r"40\.001 g in the pan is more than the charge, 40"):
        check_weighing(there, pan(Load.GROSS), 152.001, None)
    # Before its charge is known there is nothing to hold it against.
    check_weighing(standing([weighed(Load.TARE, 112.0)]), pan(Load.GROSS), 152.001, None)


def test_a_pan_may_be_weighed_full_before_it_is_weighed_empty():
    charge = MassTaken(record=2, operator="KL", utc_ns=1, t_ns=1, test=CRUSH, item="charge",
                       load=Load.NET, specimen=1, mass_g=40.0)  # fmt: skip
    check_weighing(standing([charge]), pan(Load.GROSS), 114.0, None)


def test_only_the_mass_that_stands_is_corrected():
    place = WeighingPlace(test=SIEVING, item="30", load=Load.TARE)
    check_weighing(masses((Load.TARE, 400.0)), place, 401.0, 1)
    with pytest.raises(CommandRefused, match=r"mass 2 can't be corrected: .* mass 1 stands"):
        check_weighing(masses((Load.TARE, 400.0)), place, 401.0, 2)
    with pytest.raises(CommandRefused, match="none stands"):
        check_weighing({}, place, 401.0, 1)


def test_the_control_sand_gives_points_and_the_spread_within_its_samples(book):
    sheet = book(role=Role.CONTROL, client_reference="control sand")
    for number, fines_g in ((1, 3.0), (2, 4.0), (3, 3.5)):
        sheet.crushed(number, fines_g)
    client = book()
    client.crushed(9, 1.0)
    points = control_points([sheet.record(), client.record()])
    assert [point.fines_pct for point in points] == [7.5, 10.0, 8.75]
    assert {point.material for point in points} == {"control sand"}
    # 7.5, 10 and 8.75: a standard deviation of 1.25 with two degrees of freedom.
    within = Spread(sd=pytest.approx(1.25), dof=pytest.approx(2))
    found = laboratory_precision(points)
    assert found.within == within
    assert not any(source.known for source in found.sources)
    assert laboratory_precision(points[:1]).within is None


@pytest.mark.parametrize("left", ["not crushed", "left out"])
def test_a_specimen_of_the_control_sand_that_does_not_count_is_no_point(book, left):
    sheet = book(role=Role.CONTROL, client_reference="control sand")
    sheet.crushed(1)
    if left == "not crushed":
        sheet.specimen(2)
    else:
        sheet.crushed(2)
        sheet.write(ExclusionDecided, specimen=2, excluded=True, reason="spilt")
    assert [one.specimen for one in control_points([sheet.record()])] == [1]


def test_what_is_not_numbered_yet_is_of_sample_0(book):
    sheet = book(role=Role.CONTROL, client_reference="control sand", sample=None)
    sheet.crushed(1)
    sheet.specimen(2, 0.0)
    sheet.weigh(40.0, "charge", specimen=2)
    sheet.weigh(0.1, "pan", specimen=2)
    assert [one.sample for one in control_points([sheet.record()])] == [0]
    assert [one.sample for one in sheet.record().blanks] == [0]


def test_a_control_point_says_where_when_and_by_whom_it_was_crushed_and_what_was_done(book):
    sheet = book(role=Role.CONTROL, client_reference="control sand")
    sheet.write(
        SpecimenAdded, specimen=4, label="a", target_psi=5000.0, bore_in=2.0, press="P1", cell="C7"
    )
    sheet.weigh(40.0, "charge", specimen=4)
    sheet.run(4, operator="MN")
    sheet.weigh(2.0, "pan", specimen=4)
    for operator, finding in (("KL", "sieve torn"), ("MN", "sieve replaced")):
        sheet.write(ControlAnswered, finding=finding, operator=operator)
    assert control_points([sheet.record()]) == (
        ControlPoint(
            sample=1, specimen=4, material="control sand", utc_ns=1, press="P1", cell="C7",
            operator="MN", stress_psi=5000.0, fines_pct=5.0,
            answer="KL: sieve torn; MN: sieve replaced",
        ),
    )  # fmt: skip


def test_without_a_control_sand_what_specimens_share_is_from_memory_and_said_to_be():
    found = laboratory_precision([])
    assert found.within is None
    assert [source.words for source in found.sources] == [
        "between splits, from memory",
        "between days, from memory",
        "between operators, from memory",
        "between presses, from memory",
    ]
    # By hand: 0.5 and three times 0.3 %; Welch and Satterthwaite with 4 degrees of freedom each.
    assert found.between.sd == pytest.approx(math.sqrt(0.52))
    assert found.between.dof == pytest.approx(0.52**2 / ((0.5**4 + 3 * 0.3**4) / 4))


def point(sample, fines_pct, *, day, operator="KL", stress_psi=4000.0):
    return ControlPoint(
        sample=sample, specimen=1, material="m", utc_ns=int(day * 86_400e9), press="P1", cell="",
        operator=operator, stress_psi=stress_psi, fines_pct=fines_pct,
    )  # fmt: skip


def test_splits_that_had_a_day_each_are_one_source_and_what_never_differed_is_from_memory():
    points = [
        point(at, 9.0 + 0.4 * (at % 3) + 0.1 * one, day=at) for at in range(6) for one in range(3)
    ]
    names = {one.name: one.known for one in laboratory_precision(points).sources}
    assert names == {"splits and days": True, "operators": False, "presses": False}


@pytest.mark.parametrize(("operators", "known"), [("AB", False), ("ABC", True)])
def test_of_two_operators_nothing_is_said_that_holds_for_a_third(operators, known):
    points = [
        point(day, 9.0 + number + 0.3 * split + 0.1 * one, day=day, operator=operator)
        for number, operator in enumerate(operators)
        for split, day in enumerate(range(3 * number, 3 * number + 3))
        for one in range(2)
    ]
    sources = {one.name: one.known for one in laboratory_precision(points).sources}
    assert sources["operators"] is known


def test_a_day_goes_on_over_midnight_and_ends_with_the_night():
    # Three splits a working day from 20:00 to 01:00 UTC.
    points = [
        point(3 * day + at, 9.0 + 0.2 * at + 0.1 * one, day=day + 0.83 + 0.1 * at)
        for day in range(4)
        for at in range(3)
        for one in range(2)
    ]
    names = [one.name for one in laboratory_precision(points).sources if one.known]
    assert names == ["splits", "days"]


def test_operators_and_presses_are_told_apart_from_splits_and_days():
    chance = random.Random(3)
    operators = {name: chance.gauss(0, 0.8) for name in "ABCDEF"}
    points = []
    for sample in range(40):
        operator = chance.choice("ABCDEF")
        shared = operators[operator] + chance.gauss(0, 0.3)
        points += [
            point(sample, 9 + shared + chance.gauss(0, 0.4), day=sample, operator=operator)
            for _ in range(3)
        ]
    found = {one.name: one.spread for one in laboratory_precision(points).sources if one.known}
    assert set(found) == {"splits and days", "operators"}
    assert found["operators"].sd == pytest.approx(statistics.stdev(operators.values()), rel=0.3)
    assert found["splits and days"].sd == pytest.approx(0.3, abs=0.15)
    assert laboratory_precision(points).within.sd == pytest.approx(0.4, rel=0.15)


def test_the_evidence_uses_the_laboratorys_own_spread(book):
    sheet = book()
    sheet.crushed(1)
    assert sheet.record().evidence.spread is None
    bench = BenchRecord(laboratory=Precision(within=Spread(sd=0.4, dof=20), between=None))
    assert sheet.record(bench).evidence.spread == Spread(sd=0.4, dof=20)


def test_points_of_different_stresses_are_not_pooled_about_one_mean():
    spread = laboratory_precision(
        [
            point(1, fines_pct, day=1, stress_psi=psi)
            for psi, fines_pct in ((4000, 5), (4000, 6), (6000, 15), (6000, 16))
        ]
    )
    assert spread.within == Spread(sd=pytest.approx(0.5**0.5), dof=pytest.approx(2))


def test_a_material_is_what_limits_go_by(book):
    sheet = book(material=Material.CERAMIC)
    sheet.write(ValueEntered, what="roundness", counts=((0.65, 20),))
    (found,) = sheet.record().properties
    # From memory: 0.7 for ceramic, ISO 13503-2:2006 clause 7.
    assert (found.passes, str(found.limit)) == (False, "0.7 or more")
