"""What a sample may be received as and corrected to, and by whose figures it is tested."""

import hashlib

import pytest

from ramphold.errors import InputError
from ramphold.method.editions import packaged_text
from ramphold.sample import (
    SampleCorrected,
    SampleReceived,
    check_sample,
    edition_file_words,
    edition_of,
)


def sample(**fields):
    return SampleReceived(**{
        "operator": "KL", "utc_ns": 0, "sample": 1, "laboratory_number": "26-0417",
        "client_reference": "pit 3", "material": "sand", "size": "20/40",
        "edition": "ISO 13503-2:2024",
    } | fields)  # fmt: skip


@pytest.mark.parametrize(
    "fields",
    [{}, {"use": "gravel pack"}, {"tests": ("crush", "turbidity", "acid solubility")}],
)
def test_a_sample_that_its_edition_has_figures_for_may_be_received(fields):
    check_sample(sample(**fields))


@pytest.mark.parametrize(
    ("fields", "refused"),
    [
        ({"size": "20/41"}, "20/41"),
        ({"edition": "ISO 1"}, "ISO 1"),
        ({"edition": "API RP 56", "use": "gravel pack"}, "has no limits for 'gravel pack'"),
        ({"tests": ("crush", "colour")}, "'colour' is no known test: expected some of"),
        ({"edition_file": "nothing = 1"}, "the edition's file of sample 26-0417"),
    ],
)
def test_a_sample_that_could_not_be_tested_is_refused(fields, refused):
    with pytest.raises(InputError, match=refused):
        check_sample(sample(**fields))


# A file of the program that a laboratory has taken over, with a longer hold.
OWN = packaged_text("API STD 19C:2018").replace("[hold]\ntime_s = 120", "[hold]\ntime_s = 150", 1)


def test_a_sample_is_tested_by_its_own_file_if_its_receipt_has_one():
    assert edition_of(sample()).hold_s == 120
    assert edition_of(sample(edition_file=OWN)).hold_s == 150


@pytest.mark.parametrize(
    ("fields", "whose", "text"),
    [
        ({"edition_file": OWN}, "the laboratory's own file", OWN),
        ({"edition": "API RP 60"}, "the program's file", packaged_text("API RP 60")),
    ],
)
def test_the_words_say_whose_file_it_is_with_the_hash_of_its_bytes(fields, whose, text):
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    assert edition_file_words(sample(**fields)) == f"{whose}, SHA-256 {sha256}"


def test_a_correction_to_another_edition_leaves_the_laboratorys_file_behind(book):
    sheet = book(edition_file=OWN)
    sheet.write(SampleCorrected, field="remarks", value="wet", reason="x")
    assert sheet.record().edition.hold_s == 150
    sheet.write(SampleCorrected, field="edition", value="API RP 60", reason="x")
    assert (sheet.record().sample.edition_file, sheet.record().edition.name) == ("", "API RP 60")


def test_tests_are_corrected_as_a_list_with_commas_between(book):
    sheet = book()
    sheet.write(SampleCorrected, field="tests", value=" crush,, turbidity , ", reason="x")
    assert sheet.record().sample.tests == ("crush", "turbidity")


def test_a_field_can_not_be_corrected_to_what_it_can_not_have(book):
    sheet = book()
    sheet.write(SampleCorrected, field="material", value="gravel", reason="x")
    with pytest.raises(InputError, match="material can't be 'gravel': unknown value"):
        sheet.record()
