"""The samples as rows of the worksheet. Pure."""

from ramphold.control.sample_methods import SampleLine

__all__ = ["SAMPLES_HEADER", "sample_row"]

SAMPLES_HEADER = f"  {'sample':<15}{'size':<9}{'material':<14}{'state':<11}client"


def sample_row(line: SampleLine) -> str:
    """One sample in one line, under `SAMPLES_HEADER`."""
    one = line.sample
    return (
        f"{one.laboratory_number[:14]:<15}{one.size:<9}{one.material:<14}{line.state:<11}"
        f"{one.client_reference}"
    )
