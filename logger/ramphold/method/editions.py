"""Editions of the standard as data: a laboratory picks one, and its report names it.

Each is a TOML file beside this module, in which every figure has its source. A laboratory's own
file has the same keys and takes the place of one.
"""

import hashlib
import re
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Annotated, TypeAlias

from msgspec import Meta, Struct

from ramphold.errors import ConfigError, InputError
from ramphold.method import charge
from ramphold.method.entered import PROPERTIES
from ramphold.method.gravimetric import TESTS, Material
from ramphold.method.limits import CrushLimit, FinesLimit, ResultLimit, SievingLimits, Source
from ramphold.method.lookup import find
from ramphold.method.sieves import Size, check_stack, size_of
from ramphold.toml_file import decode_toml

_Positive: TypeAlias = Annotated[float, Meta(gt=0, le=100_000)]
_Seconds: TypeAlias = Annotated[float, Meta(ge=1, le=7200)]
# Far more than any edition needs; the file becomes part of a sample's record.
_MOST_BYTES = 20_000


class _Figures(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Some figures of an edition, and where they are from."""

    source: Source


class ConstantRate(_Figures, frozen=True, kw_only=True, tag_field="kind", tag="constant rate"):
    """A ramp at a fixed rate in psi/min."""

    rate_psi_min: _Positive

    def rate_to(self, target_psi: float) -> float:
        """The rate in psi/min to a target stress in psi."""
        del target_psi
        return self.rate_psi_min


class FixedTime(_Figures, frozen=True, kw_only=True, tag_field="kind", tag="fixed time"):
    """A ramp of fixed duration in s."""

    time_s: _Seconds

    def rate_to(self, target_psi: float) -> float:
        """The rate in psi/min to a target stress in psi."""
        return target_psi * 60 / self.time_s


class ChargeByDensity(
    _Figures, frozen=True, kw_only=True, tag_field="kind", tag="volume of loose material"
):
    """A volume of loose material in cm3 for the standard bore."""

    volume_cm3: _Positive


class ChargeByArea(_Figures, frozen=True, kw_only=True, tag_field="kind", tag="mass per area"):
    """A mass per area of the cell in lb/ft2."""

    areal_lb_ft2: _Positive


class Duration(_Figures, frozen=True, kw_only=True):
    """A time in s."""

    time_s: _Seconds


class Fewest(_Figures, frozen=True, kw_only=True):
    """A least number."""

    least: Annotated[int, Meta(ge=1, le=50)]


class GreatestFines(_Figures, frozen=True, kw_only=True):
    """Greatest mean fines in % of the charge."""

    fines_pct: FinesLimit


class Procedure(_Figures, frozen=True, kw_only=True):
    """What is done between the two weighings of a test; `of` is its name."""

    of: str
    steps: Annotated[str, Meta(min_length=1, max_length=300)]


class Stack(_Figures, frozen=True, kw_only=True):
    """The sieves of an analysis by US number, coarsest first, without the pan."""

    sieves: Annotated[tuple[int, ...], Meta(min_length=2, max_length=20)]


class Edition(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The requirements of an edition of the standard.

    Attributes:
        name: as printed in a report.
        ramp: how the load rises to the target.
        hold: time at the target.
        shaking: time on the shaker, before the crush and after it.
        specimens: fewest per stress.
        charge: how the charge is defined.
        sieving: limits of the sieve analysis, by intended use.
        crush_class: greatest mean fines of a stress that counts for the crush class; None if the
            edition has no classes.
        crush: suggested stress and greatest fines by size; empty if the edition has none.
        stack: the sieves of the analysis by size; another size has a stack by rule.
        limit: those of the tests before the crush; the first that holds counts.
        procedure: what is done in a test by mass before and after; a report prints it.
    """

    name: Annotated[str, Meta(min_length=1, max_length=60)]
    ramp: ConstantRate | FixedTime
    hold: Duration
    shaking: Duration
    specimens: Fewest
    charge: ChargeByDensity | ChargeByArea
    sieving: Annotated[dict[str, SievingLimits], Meta(min_length=1)]
    crush_class: GreatestFines | None = None
    crush: dict[str, CrushLimit] = {}
    stack: Annotated[dict[str, Stack], Meta(min_length=1)]
    limit: tuple[ResultLimit, ...] = ()
    procedure: tuple[Procedure, ...] = ()

    def __post_init__(self) -> None:
        """Check names, stacks and limits: msgspec tells an error with its key."""
        for name in self._names():
            if name != name.strip():
                raise InputError(f"{name!r}: expected no space before or after a name")
        for name, stack in self.stack.items():
            check_stack(name, stack.sieves)
        for procedure in self.procedure:
            find(TESTS, procedure.of, "test by mass before and after")
        tests, materials = (*TESTS, *PROPERTIES), list(Material)
        for limit in self.limit:
            find(dict.fromkeys(tests), limit.of, "test with a limit")
            for material in limit.material:
                find(dict.fromkeys(materials), material, "material")
            for size in limit.size:
                size_of(size, {})

    def _names(self) -> Iterator[str]:
        """Every name by which something of it is found."""
        yield from (*self.sieving, *self.crush, *self.stack)
        yield from (one.of for one in self.procedure)
        for limit in self.limit:
            yield from (limit.of, *limit.material, *limit.size)

    def size(self, name: str) -> Size:
        """The size of that name with its stack.

        Raises:
            InputError: no size has that name.
        """
        return size_of(name, {size: one.sieves for size, one in self.stack.items()})

    def procedure_of(self, test: str) -> Procedure | None:
        """What is done in a test; None where the edition does not say it."""
        return next((one for one in self.procedure if one.of == test), None)

    def limit_of(self, test: str, material: str, size: str) -> ResultLimit | None:
        """The limit of a test for a material and a size; None if there is none."""
        return next((one for one in self.limit if one.holds_for(test, material, size)), None)

    @property
    def hold_s(self) -> float:
        """Time at the target in s."""
        return self.hold.time_s

    @property
    def sieve_s(self) -> float:
        """Time on the shaker in s."""
        return self.shaking.time_s

    @property
    def replicates(self) -> int:
        """Fewest specimens per stress."""
        return self.specimens.least

    @property
    def class_fines_pct(self) -> float | None:
        """Greatest mean fines in % of a stress that counts for the class; None without classes."""
        return self.crush_class.fines_pct if self.crush_class else None

    @property
    def sources(self) -> tuple[str, ...]:
        """Where its figures are from, each source once."""
        fixed = (self.ramp, self.hold, self.shaking, self.specimens, self.charge, self.crush_class)
        sources = [
            *(one.source for one in fixed if one is not None),
            *(one.source for one in self.sieving.values()),
            *(one.source for one in self.crush.values()),
            *(one.source for one in self.stack.values()),
            *(one.source for one in self.limit),
            *(one.source for one in self.procedure),
        ]
        return tuple(dict.fromkeys(sources))

    def charge_g(self, bulk_density_g_cm3: float | None, bore_in: float) -> float | None:
        """Charge in g for a loose bulk density in g/cm3 and a bore in inches.

        None where the density matters and is not known.
        """
        if isinstance(self.charge, ChargeByArea):
            return charge.by_area_g(bore_in, self.charge.areal_lb_ft2)
        if bulk_density_g_cm3 is None:
            return None
        return charge.by_density_g(bulk_density_g_cm3, bore_in, self.charge.volume_cm3)


@lru_cache(maxsize=32)
def read_edition(text: str, where: str) -> Edition:
    """An edition from the text of its file.

    Raises:
        ConfigError: the text is too long or no TOML, or a key is missing, unknown or wrong; it
            names `where`.
    """
    raw = text.encode()
    if len(raw) > _MOST_BYTES:
        raise ConfigError(f"{where} has {len(raw)} bytes: expected {_MOST_BYTES} at most")
    return decode_toml(raw, where, Edition)


def edition_sha256(text: str) -> str:
    """The hash of the file of an edition: that of its bytes."""
    return hashlib.sha256(text.encode()).hexdigest()


_NAMES = (
    "API RP 56",
    "API RP 58",
    "API RP 60",
    "ISO 13503-2:2006",
    "API RP 19C:2008",
    "API STD 19C:2018",
    "ISO 13503-2:2024",
)
#: The name of the default edition.
CURRENT = _NAMES[-1]


class _Editions(Mapping[str, Edition]):
    """The program's editions by name, oldest first; a file is read when its edition is used."""

    def __getitem__(self, name: str) -> Edition:
        return read_edition(packaged_text(name), name)

    def __iter__(self) -> Iterator[str]:
        return iter(_NAMES)

    def __len__(self) -> int:
        return len(_NAMES)


#: Every edition of the program by its name, oldest first.
EDITIONS: Mapping[str, Edition] = _Editions()


@cache
def packaged_text(name: str) -> str:
    """The text of the program's file of an edition, with what every edition has alike at its end.

    Raises:
        KeyError: the program has no such edition.
    """
    if name not in _NAMES:
        raise KeyError(name)
    own = re.sub("[ :]", "-", name).lower()
    folder = Path(__file__).parent / "edition_files"
    files = (folder / f"{one}.toml" for one in (own, "every-edition"))
    return "\n".join(one.read_text(encoding="utf-8") for one in files)


def find_edition(name: str) -> Edition:
    """The edition of that name.

    Raises:
        InputError: no edition has that name.
    """
    return find(EDITIONS, name, "edition known here")


def find_size(name: str) -> Size:
    """The size of that name with its stack in the default edition.

    Raises:
        InputError: no size has that name.
    """
    return EDITIONS[CURRENT].size(name)
