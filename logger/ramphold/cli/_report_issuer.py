"""The person who issues a report, and how the daemon records that."""

from collections.abc import Callable
from pathlib import Path
from typing import Self

from ramphold.cli._daemon_client import DaemonClient, sample_key
from ramphold.cli._report_source import SourceOptions
from ramphold.control.act import NoParams
from ramphold.control.people_methods import PEOPLE
from ramphold.control.sample_methods import ISSUE_REPORT, IssueReportParams
from ramphold.errors import InputError
from ramphold.keys.person_signature import PersonSignature


class ReportIssuer:
    """The person who issues a report, asked for the PIN before anything is written.

    Args:
        daemon: records the issue.
        by: initials of the person.
        pin: the PIN; None where nobody signs at the bench.

    Attributes:
        signer: the person in full, whose signature the daemon makes; None for initials alone.
    """

    def __init__(self, daemon: DaemonClient, by: str, pin: str | None) -> None:
        self._daemon, self._by, self._pin = daemon, by, pin
        self.signer: PersonSignature | None = None
        if pin is not None and (one := daemon.ask(PEOPLE, NoParams()).find(by)) is not None:
            self.signer = PersonSignature(name=one.name, function=one.function, key=one.key)

    @classmethod
    def asked(
        cls, by: str, pin_file: Path | None, socket: Path | None, where: SourceOptions
    ) -> Self:
        """The issuer that the options of the command name.

        Raises:
            InputError: nobody is named, or the report is one of an archive.
            CommandRefused: the person does not sign at the bench.
        """
        if not by:
            raise InputError("--issue: expected --by INITIALS of the person who issues the report")
        if where.get("archive") is not None:
            raise InputError("--issue: a report is issued at its bench: expected its --config")
        daemon = DaemonClient(socket, None if socket else where.get("config"), as_json=False)
        return cls(daemon, by, daemon.pin(by, pin_file))

    def hand_out(self, sample: str, changes: str) -> Callable[[str, str], None]:
        """A function that has files of these SHA-256 (HTML, PDF) recorded as issued."""

        def record(sha256: str, pdf_sha256: str) -> None:
            wanted = IssueReportParams(
                sample=sample_key(sample),
                operator=self._by,
                pin=self._pin,
                changes=changes,
                sha256=sha256,
                pdf_sha256=pdf_sha256,
            )
            self._daemon.ask(ISSUE_REPORT, wanted)

        return record
