"""Names of a report's files."""

import re


def report_name(bench: str, sample: int | None, number: str, revision: int | None) -> str:
    """A file name for a report: bench, the sample's id there, laboratory number, and revision.

    The id tells samples apart whose laboratory numbers differ in what a file name may not hold.
    """
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", number).strip(".-") or "sample"
    return f"{bench or 'bench'}-{sample}-{plain}-{'draft' if revision is None else f'r{revision}'}"
