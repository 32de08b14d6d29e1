"""The part of the table that is about the instruments: live figures, raw readings, bytes.

`check`, `record`, `calibrate` and `commission` work through it while the daemon holds the ports.
"""

from typing import Annotated, Literal

from msgspec import Meta

from ramphold.control._basis import Initials, Method, NoParams, Params, Reason, Result
from ramphold.core import PacingStart, PressTrial
from ramphold.sample import CertificateTaken, DailyCheckMade

__all__ = [
    "BENCH_METHODS",
    "EXCHANGE",
    "INSTRUMENTS",
    "KEEP_TRIAL",
    "READINGS",
    "TAKE_CERTIFICATE",
    "ZERO_LOAD",
    "Exchange",
    "ExchangeWanted",
    "InstrumentNow",
    "InstrumentsNow",
    "NewCertificate",
    "Part",
    "ReadingRow",
    "Readings",
    "ReadingsWanted",
    "TrialKept",
    "TrialMade",
    "Which",
    "ZeroWanted",
]

Which = Literal["load", "balance"]


# --- parameters --------------------------------------------------------------------------------


class ReadingsWanted(Params, frozen=True, kw_only=True):
    """The newest readings of an instrument, or those after a time in ns that was seen."""

    instrument: Which
    after_ns: int | None = None
    limit: Annotated[int, Meta(ge=1, le=20_000)] = 20_000


class ZeroWanted(Params, frozen=True, kw_only=True):
    """Who says that there is no load on it; `anyway` is why a zero over its limit is taken."""

    operator: Initials
    anyway: Reason | None = None


class NewCertificate(Params, frozen=True, kw_only=True):
    """A certificate's TOML text, to be kept and in force from now on."""

    operator: Initials
    text: Annotated[str, Meta(max_length=50_000)]


class TrialMade(Params, frozen=True, kw_only=True):
    """A trial of this press, to be kept."""

    operator: Initials
    trial: PressTrial


class ExchangeWanted(Params, frozen=True, kw_only=True):
    """Which instrument to listen to, and for how long."""

    instrument: Which
    seconds: Annotated[float, Meta(gt=0, le=600)]


# --- results -----------------------------------------------------------------------------------


class InstrumentNow(Result, frozen=True, kw_only=True):
    """One instrument as it is now.

    Attributes:
        name: what it is called.
        place: its port, pins or channel.
        state: open, silent, missing and so on.
        ok: whether there is nothing to do about it.
        text: what is wrong and what to do, or `ok`.
        raw: the newest reading as it came; empty before the first.
        value: the same in `unit`, corrected by the calibration; None where it carries none.
        unit: `lbf` or `g`.
        quality: how far it can be believed; empty before the first.
        rate_per_s: readings a second, over the last five; None before there are two.
        step, reading_unit: smallest step of what was read before any correction, and its unit,
            `count`, `lbf` or `g`; the step is None where it can't be told.
        noise: standard deviation of the noise in `unit`; None before there is enough to tell.
        steady_pct: share of those readings that were at rest.
        age_s: age of the newest in s; None before the first.
        calibration: the certificate in force, and until when.
        certificate: its id; empty where there is none.
        days_left: whole days until it falls due, negative once it has; None where there is none.
        zero: reading without a load that is taken off each, in `reading_unit`; None for a
            balance, and without a certificate.
    """

    name: str
    place: str
    state: str
    ok: bool
    text: str
    raw: str
    value: float | None
    unit: str
    quality: str
    rate_per_s: float | None
    step: float | None
    reading_unit: str
    noise: float | None
    steady_pct: float | None
    age_s: float | None
    calibration: str
    certificate: str = ""
    days_left: int | None = None
    zero: float | None = None


class InstrumentsNow(Result, frozen=True, kw_only=True):
    """Each instrument of the bench."""

    instruments: tuple[InstrumentNow, ...]


class ReadingRow(Result, frozen=True, kw_only=True):
    """One reading.

    Attributes:
        t_ns: monotonic time on the daemon's clock in ns.
        value: force in lbf or mass in g; None where it carries none.
        reading: the same before any correction: a count, or the force that was read, in lbf.
        quality: how far it can be believed.
    """

    t_ns: int
    value: float | None
    reading: float | None
    quality: str


class Readings(Result, frozen=True, kw_only=True):
    """Readings in the order in which they came.

    Attributes:
        readings: them.
        unit: of what is not corrected: `count`, `lbf` or `g`.
        lost: whether readings between the time wanted and the first of these are gone.
    """

    readings: tuple[ReadingRow, ...]
    unit: str
    lost: bool


class TrialKept(Result, frozen=True, kw_only=True):
    """Where a trial was kept, and what the pacing starts from now on."""

    file: str
    start: PacingStart


class Part(Result, frozen=True, kw_only=True):
    """Bytes that went one way at once: `>` to the instrument, `<` from it."""

    way: Literal[">", "<"]
    data: bytes


class Exchange(Result, frozen=True, kw_only=True):
    """What passed a port, and how it is decoded.

    Attributes:
        about: the wire shape in words.
        profile, unit: the profile that decodes it, and the unit of values that come without one.
        rate: baud and framing; empty of a network port.
        parts: the bytes.
        cut: whether there was more than is kept.
    """

    about: str
    profile: str
    unit: str
    rate: str
    parts: tuple[Part, ...]
    cut: bool


# --- the table ---------------------------------------------------------------------------------

INSTRUMENTS = Method(
    "instruments", NoParams, InstrumentsNow, "each instrument live: raw, value, rate, noise"
)
READINGS = Method("readings", ReadingsWanted, Readings, "the raw readings of an instrument")
EXCHANGE = Method("exchange", ExchangeWanted, Exchange, "listen to the bytes of an instrument")

ZERO_LOAD = Method(
    "zero_load", ZeroWanted, DailyCheckMade, "check the load's zero, and count from it"
)
TAKE_CERTIFICATE = Method(
    "take_certificate", NewCertificate, CertificateTaken, "keep a certificate and use it from now"
)

KEEP_TRIAL = Method(
    "keep_trial", TrialMade, TrialKept, "keep a trial of the press; the pacing starts from it"
)

BENCH_METHODS = (INSTRUMENTS, READINGS, EXCHANGE, ZERO_LOAD, TAKE_CERTIFICATE, KEEP_TRIAL)
