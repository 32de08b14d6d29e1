"""The forms that the operator fills in."""

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from ramphold import units
from ramphold.control.specimen_methods import AddSpecimenParams
from ramphold.method.entered import PROPERTIES
from ramphold_tui.view.form_fields import (
    Field,
    InputForm,
    ValueTyped,
    count,
    mass_or_nothing,
    quantity_field,
    text_field,
    value_typed,
)

_MOST_INITIALS, _MOST_REMARKS = 12, 1000


class MassTyped(Struct, frozen=True, kw_only=True):
    """A mass in g, None for that on the balance; and a reason, None if none is given."""

    mass_g: float | None
    reason: str | None


class SignerTyped(Struct, frozen=True, kw_only=True):
    """Who answers for something; the PIN is None where nobody signs at the bench."""

    initials: str
    pin: str | None = None
    remarks: str = ""


def initials_form() -> InputForm[str]:
    """Who works here."""
    field = text_field("initials", "kept with everything that you record", most=_MOST_INITIALS)
    return _one_text("Who works here?", field)


def reason_form(title: str) -> InputForm[str]:
    """Why something is so."""
    return _one_text(
        title, text_field("reason", "recorded, and printed in the report", most=_MOST_REMARKS)
    )


def correction_form(title: str, label: str, now: str) -> InputForm[str]:
    """The right text in place of `now`."""
    field = text_field("value", least=0, most=_MOST_REMARKS)
    return _one_text(title, replace(field, label=label, filled=now))


def review_form(*, signing: bool) -> InputForm[SignerTyped]:
    """Initials of who reviewed a sample, remarks, and the PIN if people sign at the bench."""
    return _signer_form(
        "Reviewed: the whole sample, by somebody who recorded none of it",
        text_field("initials", "of the reviewer", most=_MOST_INITIALS),
        text_field("remarks", "may be empty", least=0, most=_MOST_REMARKS),
        *([_pin_field()] if signing else []),
    )


def sign_form(title: str, initials: str) -> InputForm[SignerTyped]:
    """Who signs something, and the PIN.

    Args:
        title: what is signed.
        initials: proposed.
    """
    field = text_field("initials", "of the person who signs", most=_MOST_INITIALS)
    return _signer_form(title, replace(field, filled=initials), _pin_field())


def _signer_form(title: str, *fields: Field) -> InputForm[SignerTyped]:
    return InputForm(
        title,
        fields,
        lambda texts: SignerTyped(
            initials=texts["initials"].strip(),
            pin=texts.get("pin"),
            remarks=texts.get("remarks", "").strip(),
        ),
    )


def _pin_field() -> Field:
    field = text_field("pin", "passphrase or PIN of your key; not shown")
    return replace(field, label="PIN", secret=True)


def mass_form(title: str, why: str, *, needed: bool) -> InputForm[MassTyped]:
    """A mass that is typed, or that on the balance; and a reason.

    Args:
        title: what the mass is for.
        why: the hint for the reason.
        needed: whether there must be a reason.
    """
    return InputForm(
        title,
        (
            Field("mass", "mass g", mass_or_nothing, "empty: the mass on the balance now"),
            text_field("reason", why, least=1 if needed else 0, most=_MOST_REMARKS),
        ),
        lambda texts: MassTyped(
            mass_g=mass_or_nothing(texts), reason=texts["reason"].strip() or None
        ),
    )


def value_form(what: str) -> InputForm[ValueTyped]:
    """A result that a person enters; `what` is the name of the property."""
    kind = PROPERTIES[what]
    hint = f"{kind.unit or 'a number'}; several determinations with spaces between them"
    if kind.by_grains:
        hint = "grains like each value of the chart, such as 0.7=12 0.8=8; or their mean"

    def read(texts: Mapping[str, str]) -> ValueTyped:
        return value_typed(texts["value"])

    return InputForm(f"Enter {what}", (Field("value", what, read, hint),), read)


def specimen_form(operator: str, sample: int, name: str) -> InputForm[AddSpecimenParams]:
    """A specimen to be crushed.

    Args:
        operator: who records it.
        sample: number of its sample.
        name: what the sample is called.
    """
    return InputForm(
        f"A specimen of {name}",
        (
            text_field("label", "what the laboratory calls it"),
            quantity_field("target", "target stress", units.STRESS, "4000psi"),
            quantity_field("bore", "bore of the cell", units.LENGTH, "2in", "2in"),
            text_field("cell", "which one, if there are several", least=0),
        ),
        lambda texts: AddSpecimenParams(
            label=texts["label"].strip(),
            target_psi=units.parse(texts["target"], units.STRESS),
            bore_in=units.parse(texts["bore"], units.LENGTH),
            cell=texts["cell"].strip(),
            sample=sample,
            operator=operator,
        ),
    )


def plan_form(title: str, stress: str, specimens: int) -> InputForm[tuple[float, int]]:
    """A stress in psi, and how many specimens are planned at it; both are proposed."""
    return InputForm(
        title,
        (
            quantity_field("stress", "stress", units.STRESS, "4000psi", stress),
            Field(
                "specimens",
                "specimens",
                lambda texts: count(texts["specimens"]),
                "0 takes the stress off the plan",
                str(specimens),
            ),
        ),
        lambda texts: (units.parse(texts["stress"], units.STRESS), count(texts["specimens"])),
    )


def _one_text(title: str, field: Field) -> InputForm[str]:
    return InputForm(title, (field,), lambda texts: texts[field.name].strip())
