"""Editions of the standard as data: a laboratory picks one, and its report names it.

The procedures are from memory (API RP 56 clause 9.3, ISO 13503-2:2006 clause 11). The scope of
ISO 13503-2:2024 says that it adopts API STD 19C:2018.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from ramphold.method import charge, limits
from ramphold.method.charge import ChargeRule
from ramphold.method.limits import CrushLimit, SievingLimits
from ramphold.method.lookup import find


@dataclass(frozen=True, slots=True)
class ConstantRate:
    """A ramp at a fixed rate in psi/min."""

    rate_psi_min: float

    def rate_to(self, target_psi: float) -> float:
        """The rate in psi/min to a target stress in psi."""
        del target_psi
        return self.rate_psi_min


@dataclass(frozen=True, slots=True)
class FixedTime:
    """A ramp of fixed duration in s."""

    time_s: float

    def rate_to(self, target_psi: float) -> float:
        """The rate in psi/min to a target stress in psi."""
        return target_psi * 60 / self.time_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """The requirements of an edition of the standard.

    Attributes:
        name: as printed in a report.
        ramp: how the load rises to the target.
        hold_s: time at the target in s.
        sieve_s: time on the shaker in s, before the crush and after it.
        replicates: fewest specimens per stress.
        charge_rule: how the charge is defined.
        sieving: limits of the sieve analysis, by intended use.
        class_fines_pct: greatest mean fines of a stress that counts for the crush class; None
            if the edition has no classes.
        crush: suggested stress and greatest fines by size; empty if the edition has none.
    """

    name: str
    ramp: ConstantRate | FixedTime
    charge_rule: ChargeRule
    sieving: Mapping[str, SievingLimits]
    class_fines_pct: float | None = None
    crush: Mapping[str, CrushLimit] = field(default_factory=dict)
    hold_s: float = 120.0
    sieve_s: float = 600.0
    replicates: int = limits.REPLICATES

    def charge_g(self, bulk_density_g_cm3: float, bore_in: float) -> float:
        """Charge in g for a loose bulk density in g/cm3 and a bore in inches."""
        if self.charge_rule is ChargeRule.BY_AREA:
            return charge.by_area_g(bore_in)
        return charge.by_density_g(bulk_density_g_cm3, bore_in)


_FRACTURING = {"fracturing": limits.FRACTURING}
_GRAVEL_PACK = {"gravel pack": limits.GRAVEL_PACK}


def _practice(
    name: str, sieving: Mapping[str, SievingLimits], crush: Mapping[str, CrushLimit] | None = None
) -> Edition:
    return Edition(
        name=name,
        ramp=FixedTime(60.0),
        charge_rule=ChargeRule.BY_AREA,
        sieving=sieving,
        crush=crush or {},
    )


def _standard(name: str) -> Edition:
    return Edition(
        name=name,
        ramp=ConstantRate(2000.0),
        charge_rule=ChargeRule.BY_DENSITY,
        sieving=_FRACTURING | _GRAVEL_PACK,
        class_fines_pct=limits.FINES_PCT,
    )


#: Every edition by its name, oldest first.
EDITIONS = {
    edition.name: edition
    for edition in (
        _practice("API RP 56", _FRACTURING, limits.RP56_CRUSH),
        _practice("API RP 58", _GRAVEL_PACK),
        _practice("API RP 60", _FRACTURING),
        _standard("ISO 13503-2:2006"),
        _standard("API RP 19C:2008"),
        _standard("API STD 19C:2018"),
        _standard("ISO 13503-2:2024"),
    )
}

#: The default edition.
CURRENT = EDITIONS["ISO 13503-2:2024"]


def find_edition(name: str) -> Edition:
    """The edition of that name.

    Raises:
        InputError: no edition has that name.
    """
    return find(EDITIONS, name, "edition known here")
