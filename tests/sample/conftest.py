import pytest

from ramphold.testing.samples import SampleBook


@pytest.fixture
def book():
    """A function that opens the book of a new sample."""
    return SampleBook
