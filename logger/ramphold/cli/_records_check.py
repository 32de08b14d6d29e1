"""`ramphold check --records`: whether anything was changed outside the program."""

from pathlib import Path

from msgspec import Struct

from ramphold.cli._common import show
from ramphold.store import Audit, Store


class ChainEnd(Struct, frozen=True, kw_only=True):
    """The end of a chain; `laboratory_number` is None for the chain of the bench."""

    laboratory_number: str | None
    records: int
    newest: int
    sha256: str


class RecordsResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command."""

    records: int
    runs: int
    chains: list[ChainEnd]
    findings: list[str]


def check_records(path: Path, links: tuple[str, ...], *, as_json: bool) -> int:
    """Audit a database, print the findings, and return the exit status."""
    with Store.read(path) as store, store.snapshot():
        audit = store.audit()
        findings = list(audit.findings())
    findings += [
        f"link {link} is in no chain: the records behind the report were changed"
        for link in links
        if link not in audit.links
    ]
    result = RecordsResult(
        records=audit.records, runs=audit.runs, chains=_chains(audit), findings=findings
    )
    show(result, _text(path, result), as_json=as_json)
    return 1 if findings else 0


def _chains(audit: Audit) -> list[ChainEnd]:
    return [
        ChainEnd(
            laboratory_number=None if number is None else audit.laboratory_number(number),
            records=chain.records,
            newest=chain.newest,
            sha256=chain.sha256,
        )
        for number, chain in sorted(audit.chains.items(), key=lambda item: item[0] or 0)
    ]


def _text(path: Path, result: RecordsResult) -> str:
    lines = [f"{path}: {result.records} records and {result.runs} runs checked"]
    lines += [
        f"{chain.laboratory_number or 'the bench':<14} {chain.records:>6} records, "
        f"the newest {chain.newest}, link {chain.sha256}"
        for chain in result.chains
    ]
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    return "\n".join(
        [*lines, "something was changed" if result.findings else "nothing was changed"]
    )
