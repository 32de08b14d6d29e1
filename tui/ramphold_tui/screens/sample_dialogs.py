"""The dialogs by which a sample, a stress and a specimen come into the record."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from ramphold import units
from ramphold.control.sample_methods import AddSampleParams
from ramphold.control.specimen_methods import AddSpecimenParams
from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.view.form_fields import Field, count, text
from ramphold_tui.view.sample_fields import new_sample, sample_fields

__all__ = [
    "PlanDialog",
    "SampleDialog",
    "SpecimenDialog",
]


class SampleDialog(FormDialog[AddSampleParams]):
    """A sample that came in.

    Args:
        operator: who receives it.
        taken: laboratory numbers that others have.
        draft: what was typed before; what is typed now is kept there until it is received.
    """

    KEYS_TEXT = "Enter: next field, done in the last   Esc: back, what is typed is kept"

    def __init__(self, operator: str, taken: Collection[str], draft: dict[str, str]) -> None:
        fields = sample_fields(taken)
        filled = [replace(one, filled=draft.get(one.name, one.filled)) for one in fields]
        super().__init__("A sample came in", filled)
        self._operator, self._draft = operator, draft

    def read(self, texts: Mapping[str, str]) -> AddSampleParams:
        """The sample."""
        return new_sample(texts, self._operator)

    def on_input_changed(self) -> None:
        """Keep what is typed, however this is left."""
        self._draft.update(self.texts)


class SpecimenDialog(FormDialog[AddSpecimenParams]):
    """A specimen to be crushed.

    Args:
        operator: who records it.
        sample: number of its sample, and `name` what that is called.
        filled: what is proposed, by field.
    """

    def __init__(self, operator: str, sample: int, name: str, filled: Mapping[str, str]) -> None:
        fields = (
            Field(name="label", label="label", hint="what the laboratory calls it",
                  check=text("label")),
            Field(name="target", label="target stress", hint="with its unit, such as 4000psi",
                  check=lambda texts: units.parse(texts["target"], units.STRESS)),
            Field(name="bore", label="bore of the cell", hint="with its unit, such as 2in",
                  filled="2in", check=lambda texts: units.parse(texts["bore"], units.LENGTH)),
            Field(name="cell", label="cell", hint="which one, where there are several",
                  check=text("cell", least=0)),
        )  # fmt: skip
        proposed = [replace(one, filled=filled.get(one.name, one.filled)) for one in fields]
        super().__init__(f"A specimen of {name}", proposed)
        self._operator, self._sample = operator, sample

    def read(self, texts: Mapping[str, str]) -> AddSpecimenParams:
        """The specimen."""
        return AddSpecimenParams(
            label=texts["label"].strip(),
            target_psi=units.parse(texts["target"], units.STRESS),
            bore_in=units.parse(texts["bore"], units.LENGTH),
            cell=texts["cell"].strip(),
            sample=self._sample,
            operator=self._operator,
        )


class PlanDialog(FormDialog[tuple[float, int]]):
    """A stress in psi, and how many specimens it is to have.

    Args:
        title: what it is about, and why there.
        stress: the stress proposed, and `specimens` how many.
    """

    def __init__(self, title: str, stress: str, specimens: int) -> None:
        super().__init__(
            title,
            [
                Field(name="stress", label="stress", hint="with its unit, such as 4000psi",
                      filled=stress,
                      check=lambda texts: units.parse(texts["stress"], units.STRESS)),
                Field(name="specimens", label="specimens", hint="0 takes it off the plan",
                      filled=str(specimens), check=lambda texts: count(texts["specimens"])),
            ],
        )  # fmt: skip

    def read(self, texts: Mapping[str, str]) -> tuple[float, int]:
        """Stress in psi, and specimens."""
        return units.parse(texts["stress"], units.STRESS), count(texts["specimens"])
