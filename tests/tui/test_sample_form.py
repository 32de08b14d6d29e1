import pytest

from ramphold.method.gravimetric import Material
from ramphold_tui.view.form_fields import ValueTyped, count, mass_or_nothing, value_typed
from ramphold_tui.view.sample_form import receipt_form, sample_form

RIGHT = {
    "laboratory_number": "26-0417",
    "client_reference": "pit 3",
    "material": "sand",
    "size": "20/40",
    "edition": "",
    "use": "",
    "tests": "",
    "remarks": "",
}


def wrong(taken=(), **texts):
    return sample_form("KL", taken).errors(RIGHT | texts)


def test_a_sample_needs_a_number_a_reference_a_material_and_a_size():
    assert wrong() == {}
    empty = dict.fromkeys(RIGHT, "")
    assert set(sample_form("KL", ()).errors(empty)) == {
        "laboratory_number",
        "client_reference",
        "material",
        "size",
    }


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("laboratory_number", "26-0416", "26-0416 is there already: expected another number"),
        ("client_reference", "   ", "expected 1 to 200 characters"),
        ("material", "glass", "'glass' is no material: expected sand, resin-coated, ceramic"),
        ("size", "20/41", "'20/41' is no size of proppant: expected one of"),
        ("edition", "ISO 1", "'ISO 1' is no edition known here: expected one of"),
        ("tests", "crush, smell", "'smell' is no known test: expected some of"),
        ("remarks", "x" * 1001, "expected 0 to 1000 characters"),
    ],
)
def test_what_is_wrong_is_said_of_the_field_that_it_is_wrong_in(field, typed, said):
    found = wrong(taken=("26-0416",), **{field: typed})
    assert list(found) == [field]
    assert found[field].startswith(said)


def test_a_use_is_held_against_the_edition_that_is_typed():
    # the bench's own edition may be a file, which the bench alone can read
    assert wrong(edition="", use="paving") == {}
    # RP 58 is for gravel packs, RP 56 for fracturing: their titles, from memory.
    assert wrong(edition="API RP 58", use="gravel pack") == {}
    assert list(wrong(edition="API RP 58", use="fracturing")) == ["use"]


def test_what_is_left_empty_comes_from_the_bench():
    form = sample_form("KL", ())
    sample = form.read(RIGHT | {"material": "cer", "tests": "crush, turbidity"})
    assert (sample.edition, sample.use, sample.material) == (None, None, Material.CERAMIC)
    assert sample.tests == ("crush", "turbidity")
    assert form.read(RIGHT).tests is None


RECEIPT = {
    "customer": "North Sands, lab@example.org",
    "condition": "dry, bag whole",
    "sampling": "by the client, belt sampler",
    "room_temperature": "22,5",
    "room_humidity": " 45 ",
}


def test_customer_condition_sampling_and_room_are_asked_for_and_may_be_left_empty():
    assert receipt_form().errors(RECEIPT) == {}
    found = receipt_form().read(RECEIPT)
    assert (found.customer, found.condition, found.sampling) == tuple(RECEIPT.values())[:3]
    assert found.room == {"room temperature": 22.5, "room humidity": 45}
    empty = dict.fromkeys(RECEIPT, "")
    assert receipt_form().errors(empty) == {}
    assert receipt_form().read(empty).room == {}


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("customer", "x" * 1001, "expected 0 to 1000 characters"),
        ("room_temperature", "warm", "'warm' is no number: expected one such as 22.5"),
        ("room_temperature", "nan", "room temperature is nan: expected a number of 0 or more"),
        ("room_temperature", "72", "room temperature is 72 C: expected 60 C or less"),
        ("room_humidity", "101", "room humidity is 101 %: expected 100 % or less"),
        ("room_humidity", "-1", "room humidity is -1: expected a number of 0 or more"),
    ],
)
def test_what_is_wrong_with_a_receipt_is_said_of_its_field(field, typed, said):
    found = receipt_form().errors(RECEIPT | {field: typed})
    assert list(found) == [field]
    assert found[field].startswith(said)


@pytest.mark.parametrize(
    ("typed", "mass_g"), [("", None), (" 0 ", 0.0), ("39.52", 39.52), ("39520 mg", 39.52)]
)
def test_a_mass_is_in_grams_unless_it_says_otherwise(typed, mass_g):
    assert mass_or_nothing({"mass": typed}) == mass_g


@pytest.mark.parametrize("typed", ["-3", "4psi", "heavy"])
def test_what_is_no_mass_is_refused(typed):
    with pytest.raises(ValueError, match="mass"):
        mass_or_nothing({"mass": typed})


def test_a_value_is_a_number_determinations_or_counts_of_grains():
    assert value_typed(" 60 ") == ValueTyped(value=60.0)
    assert value_typed("2.64 2.66  2.65") == ValueTyped(values=(2.64, 2.66, 2.65))
    assert value_typed("0.7=12, 0.8=8") == ValueTyped(counts=((0.7, 12), (0.8, 8)))


@pytest.mark.parametrize(
    "typed", ["", "clear", "0.7=many", "0.7=1 0.8", "2,65", "2,64 2,65", "2.6 x"]
)
def test_what_is_no_value_is_refused(typed):
    with pytest.raises(ValueError, match="is no value: expected"):
        value_typed(typed)


@pytest.mark.parametrize("typed", ["", "-1", "51", "3.5"])
def test_what_is_no_number_of_specimens_is_refused(typed):
    assert count("3") == 3
    with pytest.raises(ValueError, match="no number of specimens"):
        count(typed)
