"""Paths of the pages. No name of anything stands in one, only series and numbers."""

from collections.abc import Mapping
from urllib.parse import urlencode

from ramphold.browse.site import PREFIX


def sample_path(series: str, sample: int) -> str:
    """The page of a sample."""
    return f"{PREFIX}/samples/{series}/{sample}"


def run_path(series: str, run: int) -> str:
    """The page of a run."""
    return f"{PREFIX}/runs/{series}/{run}"


def with_args(path: str, given: Mapping[str, str]) -> str:
    """A path below `PREFIX` with those arguments that are not empty."""
    query = urlencode({key: value for key, value in given.items() if value})
    return f"{PREFIX}{path}{'?' if query else ''}{query}"
