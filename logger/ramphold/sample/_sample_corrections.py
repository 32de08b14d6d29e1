"""A sample with its corrections applied."""

from collections.abc import Iterable

import msgspec

from ramphold.errors import InputError
from ramphold.sample._sample_records import SampleCorrected, SampleReceived
from ramphold.wrong_value import in_words


def corrected(sample: SampleReceived, changes: Iterable[SampleCorrected]) -> SampleReceived:
    """The sample with every correction applied, in order; tests are separated by commas.

    Another edition is one of the program's: the laboratory's own file goes with the old one.

    Raises:
        InputError: the field can't have the value.
    """
    for change in changes:
        value: object = change.value
        if change.field == "tests":
            value = tuple(text.strip() for text in change.value.split(",") if text.strip())
        body = msgspec.to_builtins(sample) | {change.field: value}
        if change.field == "edition":
            body["edition_file"] = ""
        try:
            sample = msgspec.convert(body, SampleReceived)
        except msgspec.ValidationError as error:
            _, what = in_words(str(error), "field")
            raise InputError(f"{change.field} can't be {change.value!r}: {what}") from None
    return sample
