import sys
from dataclasses import dataclass

import msgspec
import pytest

from ramphold.cli import main


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a person sees of one command: its exit status and what it printed."""

    status: int
    out: str
    err: str

    @property
    def json(self):
        """The object that `--json` printed."""
        return msgspec.json.decode(self.out)

    def assert_refused(self, *told):
        """Exit status 2 and nothing but one line on stderr, which holds each of the texts."""
        assert (self.status, self.out) == (2, "")
        assert self.err.startswith("ramphold: ")
        assert self.err.count("\n") == 1
        assert self.err.endswith("\n")
        assert "Traceback" not in self.err
        for text in told:
            assert text in self.err


@pytest.fixture
def ramphold(monkeypatch, capsys):
    """A function that runs the command line `ramphold` in this process."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["ramphold", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        printed = capsys.readouterr()
        return Outcome(status=end.value.code, out=printed.out, err=printed.err)

    return run


@pytest.fixture
def csv_file(tmp_path):
    """A function that writes text or bytes to a file and gives its name."""

    def write(content, name="input.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    return write
