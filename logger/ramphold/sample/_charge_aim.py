"""The target charge of a specimen, and how many grains are to be added or removed."""

from dataclasses import dataclass

from ramphold.method.charge import APPARENT_DENSITY_G_CM3, grain_mg
from ramphold.method.limits import over, under
from ramphold.method.sieves import opening_mm
from ramphold.sample._sample_record import SampleRecord

_MG_PER_G = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeAim:
    """The charge that a specimen should have.

    Attributes:
        target_g: in g.
        tolerance_g: how far from the target it is kept without a reason, in g.
        diameter_mm: mean diameter of a grain.
        apparent_density_g_cm3: of the grains.
        assumed: which of those two were not measured and have the usual value.
        left_g: what is left of the cut, in g; None where it was not weighed.
    """

    target_g: float
    tolerance_g: float
    diameter_mm: float
    apparent_density_g_cm3: float
    assumed: tuple[str, ...] = ()
    left_g: float | None = None

    def grains_to_go(self, present_g: float) -> int:
        """Grains to add to a mass in g; negative for grains to remove."""
        to_go_mg = (self.target_g - present_g) * _MG_PER_G
        return round(to_go_mg / grain_mg(self.diameter_mm, self.apparent_density_g_cm3))

    @property
    def is_left(self) -> bool:
        """Whether the cut has enough left for it, as far as is known."""
        return self.left_g is None or not under(self.left_g, self.target_g - self.tolerance_g)

    def is_right(self, present_g: float) -> bool:
        """Whether a mass in g may be kept as the charge."""
        return not over(abs(present_g - self.target_g), self.tolerance_g)


def charge_aim(record: SampleRecord, specimen: int) -> ChargeAim | None:
    """The target charge of a specimen; None until it is known."""
    target_g = next((one.target_g for one in record.specimens if one.number == specimen), None)
    if target_g is None:
        return None
    size, assumed = record.size, []
    analysis = record.sieving.analysis
    diameter_mm = None if analysis is None else analysis.mean_mm
    if diameter_mm is None:
        assumed.append("diameter")
        diameter_mm = (opening_mm(size.coarse) + opening_mm(size.fine)) / 2
    entered = {one.name: one.value for one in record.properties}
    density = entered.get("apparent density")
    if not density:
        assumed.append("apparent density")
        density = APPARENT_DENSITY_G_CM3[record.sample.material]
    return ChargeAim(
        target_g=target_g,
        tolerance_g=record.sample.charge_tolerance_g,
        diameter_mm=diameter_mm,
        apparent_density_g_cm3=density,
        assumed=tuple(assumed),
        left_g=record.cut.left_g,
    )
