"""What a person types of a new sample, checked field by field. Pure."""

from collections.abc import Collection, Mapping

from ramphold.control.sample_methods import AddSampleParams
from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS, find_edition
from ramphold.method.gravimetric import Material
from ramphold.method.sieves import SIZES, find_size
from ramphold.sample import SampleReceived, check_sample
from ramphold_tui.view.form_fields import Field, text

__all__ = ["CORRECTABLE", "new_sample", "sample_fields"]

_OWN = "empty: as this bench has it"
_MOST_REMARKS = 1000
#: Statements about a sample that can be put right, and what they are called.
CORRECTABLE = {
    name: name.replace("_", " ")
    for name in ("client_reference", "material", "size", "edition", "use", "remarks", "tests")
}


def sample_fields(taken: Collection[str]) -> tuple[Field, ...]:
    """The fields of a sample; `taken` are laboratory numbers that others have."""

    def check_number(texts: Mapping[str, str]) -> None:
        text("laboratory_number")(texts)
        number = texts["laboratory_number"].strip()
        if number in taken:
            raise InputError(f"{number} is there already: expected another number")

    return (
        Field(
            name="laboratory_number",
            label="laboratory number",
            hint="what the laboratory calls it, such as 26-0417",
            check=check_number,
        ),
        Field(
            name="client_reference",
            label="client reference",
            hint="what the client calls it",
            check=text("client_reference"),
        ),
        Field(
            name="material",
            label="material",
            hint=", ".join(Material),
            filled=Material.SAND,
            check=lambda texts: _material(texts["material"]),
        ),
        Field(
            name="size",
            label="size",
            hint=" ".join(SIZES),
            check=lambda texts: find_size(texts["size"]),
        ),
        Field(
            name="edition", label="edition", hint=f"{_OWN}; {CURRENT.name}", check=_check_edition
        ),
        Field(name="use", label="use", hint=f"{_OWN}; fracturing or gravel pack", check=_check_use),
        Field(name="tests", label="tests", hint=f"{_OWN}; with commas between", check=_check_tests),
        Field(
            name="remarks",
            label="remarks",
            hint="anything else",
            check=text("remarks", least=0, most=_MOST_REMARKS),
        ),
    )


def new_sample(texts: Mapping[str, str], operator: str) -> AddSampleParams:
    """The sample, from fields without errors."""
    given = {name: typed.strip() for name, typed in texts.items()}
    return AddSampleParams(
        operator=operator,
        laboratory_number=given["laboratory_number"],
        client_reference=given["client_reference"],
        material=_material(given["material"]),
        size=given["size"],
        edition=given["edition"] or None,
        use=given["use"] or None,
        tests=_tests(given["tests"]) or None,
        remarks=given["remarks"],
    )


def _material(typed: str) -> Material:
    """A material, by its name or enough of it."""
    typed = typed.strip().lower()
    found = [one for one in Material if typed and one.startswith(typed)]
    if len(found) != 1:
        raise InputError(f"{typed!r} is no material: expected {', '.join(Material)}")
    return found[0]


def _tests(typed: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in typed.split(",") if part.strip())


def _check_edition(texts: Mapping[str, str]) -> None:
    if texts["edition"].strip():
        find_edition(texts["edition"])


def _check_use(texts: Mapping[str, str]) -> None:
    # Where the edition itself is wrong, that is said, and not what follows from it.
    edition = EDITIONS.get(texts["edition"].strip(), CURRENT)
    if texts["use"].strip():
        check_sample(_sample(edition=edition.name, use=texts["use"].strip()))


def _check_tests(texts: Mapping[str, str]) -> None:
    check_sample(_sample(tests=_tests(texts["tests"])))


def _sample(
    *, edition: str = CURRENT.name, use: str = "fracturing", tests: tuple[str, ...] = ()
) -> SampleReceived:
    return SampleReceived(
        operator="-",
        utc_ns=0,
        laboratory_number="-",
        client_reference="-",
        material=Material.SAND,
        size="20/40",
        edition=edition,
        use=use,
        tests=tests,
    )
