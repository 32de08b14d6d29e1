"""What a person types of a new sample, checked field by field."""

from collections.abc import Collection, Mapping
from typing import get_args

from msgspec import Struct
from msgspec.structs import replace

from ramphold.control.sample_methods import AddSampleParams
from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS, find_edition, find_size
from ramphold.method.entered import judge_entered
from ramphold.method.gravimetric import Material
from ramphold.sample import SampleCorrected, SampleReceived, check_sample
from ramphold_tui.view.form_fields import Check, Field, InputForm, text_field

# What is read of the room when a sample comes in: label and hint by field.
_ROOM = {
    "room_temperature": ("room temperature", "in °C, at the receipt"),
    "room_humidity": ("room humidity", "in %, at the receipt"),
}
_OWN = "empty: this bench's own"
_MOST_REMARKS = 1000
#: Fields of a sample that can be corrected, and what the screen calls them.
CORRECTABLE: dict[str, str] = {
    name: name.replace("_", " ") for name in get_args(SampleCorrected.__annotations__["field"])
}


class ReceiptTyped(Struct, frozen=True, kw_only=True):
    """Customer, condition and sampling of a sample, and what was read of the room, by property."""

    customer: str
    condition: str
    sampling: str
    room: Mapping[str, float]


def sample_form(operator: str, taken: Collection[str]) -> InputForm[AddSampleParams]:
    """A sample that came in.

    Args:
        operator: who receives it.
        taken: laboratory numbers of other samples.
    """
    number = text_field("laboratory_number", "what the laboratory calls it, such as 26-0417")
    return InputForm(
        "A sample came in",
        (
            replace(number, check=_new_number(number.check, taken)),
            text_field("client_reference", "what the client calls it"),
            Field("material", "material", _check_material, ", ".join(Material), Material.SAND),
            Field(
                "size",
                "size",
                lambda texts: find_size(texts["size"]),
                " ".join(EDITIONS[CURRENT].stack),
            ),
            Field("edition", "edition", _check_edition, f"{_OWN}; {CURRENT}"),
            Field("use", "use", _check_use, f"{_OWN}; fracturing or gravel pack"),
            Field("tests", "tests", _check_tests, f"{_OWN}; separated by commas"),
            text_field("remarks", "anything else", least=0, most=_MOST_REMARKS),
        ),
        lambda texts: _new_sample(texts, operator),
    )


def receipt_form() -> InputForm[ReceiptTyped]:
    """What the report says of a sample's receipt; each may be left empty."""
    texts = (
        ("customer", "name and contact"),
        ("condition", "of the item as it came"),
        ("sampling", "who, when, where and how: as the customer says"),
    )
    return InputForm(
        "Its receipt, for the report: empty is `not recorded`",
        (
            *(text_field(name, hint, least=0, most=_MOST_REMARKS) for name, hint in texts),
            *(Field(name, label, _check_room(name), hint) for name, (label, hint) in _ROOM.items()),
        ),
        _receipt,
    )


def _receipt(texts: Mapping[str, str]) -> ReceiptTyped:
    given = {name: typed.strip() for name, typed in texts.items()}
    return ReceiptTyped(
        customer=given["customer"],
        condition=given["condition"],
        sampling=given["sampling"],
        room={_ROOM[name][0]: _number(given[name]) for name in _ROOM if given[name]},
    )


def _new_sample(texts: Mapping[str, str], operator: str) -> AddSampleParams:
    given = {name: typed.strip() for name, typed in texts.items()}
    return AddSampleParams(
        operator=operator,
        laboratory_number=given["laboratory_number"],
        client_reference=given["client_reference"],
        material=_material(given["material"]),
        size=given["size"],
        edition=given["edition"] or None,
        use=given["use"] or None,
        tests=_tests(given["tests"]) or None,
        remarks=given["remarks"],
    )


def _number(typed: str) -> float:
    try:
        return float(typed.replace(",", "."))
    except ValueError:
        raise InputError(f"{typed!r} is no number: expected one such as 22.5, or nothing") from None


def _material(typed: str) -> Material:
    """A material, by its name or enough of it."""
    typed = typed.strip().lower()
    found = [one for one in Material if typed and one.startswith(typed)]
    if len(found) != 1:
        raise InputError(f"{typed!r} is no material: expected {', '.join(Material)}")
    return found[0]


def _tests(typed: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in typed.split(",") if part.strip())


# --- checks ------------------------------------------------------------------------------------


def _new_number(check_length: Check, taken: Collection[str]) -> Check:
    def check(texts: Mapping[str, str]) -> None:
        check_length(texts)
        number = texts["laboratory_number"].strip()
        if number in taken:
            raise InputError(f"{number} is there already: expected another number")

    return check


def _check_room(name: str) -> Check:
    def check(texts: Mapping[str, str]) -> None:
        if typed := texts[name].strip():
            judge_entered(_ROOM[name][0], _number(typed))

    return check


def _check_material(texts: Mapping[str, str]) -> None:
    _material(texts["material"])


def _check_edition(texts: Mapping[str, str]) -> None:
    if texts["edition"].strip():
        find_edition(texts["edition"])


def _check_use(texts: Mapping[str, str]) -> None:
    # A wrong edition is told by its own field, and the bench's own may be a file: the bench checks.
    edition = EDITIONS.get(texts["edition"].strip())
    if texts["use"].strip() and edition is not None:
        check_sample(_sample(edition=edition.name, use=texts["use"].strip()))


def _check_tests(texts: Mapping[str, str]) -> None:
    check_sample(_sample(tests=_tests(texts["tests"])))


def _sample(
    *, edition: str = CURRENT, use: str = "fracturing", tests: tuple[str, ...] = ()
) -> SampleReceived:
    return SampleReceived(
        operator="-",
        utc_ns=0,
        laboratory_number="-",
        client_reference="-",
        material=Material.SAND,
        size="20/40",
        edition=edition,
        use=use,
        tests=tests,
    )
