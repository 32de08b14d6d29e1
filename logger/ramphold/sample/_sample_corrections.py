"""A sample as its corrections leave it."""

from collections.abc import Iterable

import msgspec

from ramphold.errors import InputError
from ramphold.sample._sample_records import SampleCorrected, SampleReceived

__all__ = ["corrected"]


def corrected(sample: SampleReceived, changes: Iterable[SampleCorrected]) -> SampleReceived:
    """The sample with every correction made, in order; the tests' names go by commas.

    Raises:
        InputError: a value that the field can't have.
    """
    for change in changes:
        value: object = change.value
        if change.field == "tests":
            value = tuple(text.strip() for text in change.value.split(",") if text.strip())
        body = msgspec.to_builtins(sample) | {change.field: value}
        try:
            sample = msgspec.convert(body, SampleReceived)
        except msgspec.ValidationError as error:
            raise InputError(f"{change.field} can't be {change.value!r}: {error}") from None
    return sample
