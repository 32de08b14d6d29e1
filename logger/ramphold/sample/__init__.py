"""A sample from receipt to report: its records, its results, and its next steps."""

from ramphold.method.wear import Equipment
from ramphold.sample._bench_records import (
    CertificateTaken,
    CylinderCalibrated,
    DailyCheckMade,
    EquipmentChecked,
    PressWarned,
    Record,
)
from ramphold.sample._bench_state import BENCH_KINDS, BenchRecord, EquipmentState, bench_record
from ramphold.sample._charge_aim import ChargeAim, charge_aim
from ramphold.sample._control_sand import (
    NEWEST_CONTROLS,
    ControlPoint,
    control_points,
    laboratory_precision,
)
from ramphold.sample._next_steps import NextStep, Step, next_steps
from ramphold.sample._press_warnings import PressWarning
from ramphold.sample._run_records import RunCheck, RunFinished, StateReached
from ramphold.sample._sample_checks import check_charge, check_sample
from ramphold.sample._sample_corrections import corrected
from ramphold.sample._sample_record import Chain, SampleRecord, charge_target_g, sample_record
from ramphold.sample._sample_records import (
    BaseRecord,
    CylinderChosen,
    ExclusionDecided,
    MassTaken,
    ReportIssued,
    Reviewed,
    Role,
    RunDecided,
    SampleCorrected,
    SampleReceived,
    ShakingEnded,
    ShakingStarted,
    SpecimenAdded,
    StressPlanned,
    Tick,
    Ticked,
    ValueEntered,
)
from ramphold.sample._sample_state import SampleState, check_review, kind_name, state_of
from ramphold.sample._shaker import Shaking, newest_shaking, standing_shakings
from ramphold.sample._specimen_record import MassBalance, SpecimenRecord
from ramphold.sample._standing_masses import check_weighing, net_g, standing
from ramphold.sample._test_results import Density, Gravimetric, Preparation, Sieving, check_value
from ramphold.sample._weighing_places import (
    CRUSH,
    CYLINDER,
    DENSITY,
    PREPARATION,
    SIEVING,
    Load,
    WeighingPlace,
    check_place,
)

__all__ = [
    "BENCH_KINDS",
    "CRUSH",
    "CYLINDER",
    "DENSITY",
    "NEWEST_CONTROLS",
    "PREPARATION",
    "SIEVING",
    "BaseRecord",
    "BenchRecord",
    "CertificateTaken",
    "Chain",
    "ChargeAim",
    "ControlPoint",
    "CylinderCalibrated",
    "CylinderChosen",
    "DailyCheckMade",
    "Density",
    "Equipment",
    "EquipmentChecked",
    "EquipmentState",
    "ExclusionDecided",
    "Gravimetric",
    "Load",
    "MassBalance",
    "MassTaken",
    "NextStep",
    "Preparation",
    "PressWarned",
    "PressWarning",
    "Record",
    "ReportIssued",
    "Reviewed",
    "Role",
    "RunCheck",
    "RunDecided",
    "RunFinished",
    "SampleCorrected",
    "SampleReceived",
    "SampleRecord",
    "SampleState",
    "Shaking",
    "ShakingEnded",
    "ShakingStarted",
    "Sieving",
    "SpecimenAdded",
    "SpecimenRecord",
    "StateReached",
    "Step",
    "StressPlanned",
    "Tick",
    "Ticked",
    "ValueEntered",
    "WeighingPlace",
    "bench_record",
    "charge_aim",
    "charge_target_g",
    "check_charge",
    "check_place",
    "check_review",
    "check_sample",
    "check_value",
    "check_weighing",
    "control_points",
    "corrected",
    "kind_name",
    "laboratory_precision",
    "net_g",
    "newest_shaking",
    "next_steps",
    "sample_record",
    "standing",
    "standing_shakings",
    "state_of",
]
