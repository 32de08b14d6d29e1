"""The instruments: live figures, raw readings, bytes.

`check`, `record`, `calibrate` and `commission` work through it while the daemon holds the ports.
"""

from typing import Annotated, Literal

from msgspec import Meta

from ramphold.control.act import Method, NoParams, Params, Result, Topic
from ramphold.core import MassReading

InstrumentName = Literal["load", "balance"]


# --- parameters --------------------------------------------------------------------------------


class ReadingsParams(Params, frozen=True, kw_only=True):
    """The newest readings of an instrument, or those after a time in ns already seen."""

    instrument: InstrumentName
    after_ns: int | None = None
    limit: Annotated[int, Meta(ge=1, le=20_000)] = 20_000


class ExchangeParams(Params, frozen=True, kw_only=True):
    """Which instrument to listen to, and for how long."""

    instrument: InstrumentName
    seconds: Annotated[float, Meta(gt=0, le=600)]


# --- results and topics ------------------------------------------------------------------------


class InstrumentHealth(Result, frozen=True, kw_only=True):
    """State of one instrument; `text` says what is wrong and what to do, or that it is well."""

    name: str
    kind: str
    ok: bool
    text: str


class InstrumentsHealth(Result, frozen=True, kw_only=True):
    """State of all instruments."""

    instruments: tuple[InstrumentHealth, ...]


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
        quality: how far it can be trusted; empty before the first.
        rate_per_s: readings a second over the last five seconds; None before there are two.
        step, reading_unit: smallest step of the reading before any correction, and its unit:
            `count`, `lbf` or `g`; the step is None where it is not known.
        noise: standard deviation of the noise in `unit`; None before there are enough readings.
        steady_pct: share of those readings that were at rest, in %.
        age_s: age of the newest in s; None before the first.
        calibration: the certificate in force, and until when.
        certificate: its id; empty where there is none.
        days_left: whole days until it falls due, negative once it has; None where there is none.
        zero: reading without a load that is subtracted from each, in `reading_unit`; None for a
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
        quality: how far it can be trusted.
    """

    t_ns: int
    value: float | None
    reading: float | None
    quality: str


class Readings(Result, frozen=True, kw_only=True):
    """Readings in the order in which they came.

    Attributes:
        readings: them.
        unit: of the uncorrected reading: `count`, `lbf` or `g`.
        lost: whether readings between the time asked for and the first of these are gone.
    """

    readings: tuple[ReadingRow, ...]
    unit: str
    lost: bool


class ExchangedBytes(Result, frozen=True, kw_only=True):
    """Bytes that went one way at once: `>` to the instrument, `<` from it."""

    way: Literal[">", "<"]
    data: bytes


class Exchange(Result, frozen=True, kw_only=True):
    """What passed a port, and how it is decoded.

    Attributes:
        about: the wire shape in words.
        profile, unit: the profile that decodes it, and the unit of values that come without one.
        rate: baud and framing; empty for a network port.
        parts: the bytes.
        cut: whether there was more than is kept.
    """

    about: str
    profile: str
    unit: str
    rate: str
    parts: tuple[ExchangedBytes, ...]
    cut: bool


# --- declarations ------------------------------------------------------------------------------

ON_MASS = Topic("mass", MassReading, replaceable=True, about="what the balance shows")
ON_HEALTH = Topic(
    "health", InstrumentsHealth, replaceable=True, about="the state of the instruments"
)

INSTRUMENTS = Method(
    "instruments",
    NoParams,
    InstrumentsNow,
    "each instrument live: raw, value, rate, noise, stability, age, calibration",
)
READINGS = Method("readings", ReadingsParams, Readings, "the raw readings of an instrument")
EXCHANGE = Method(
    "exchange", ExchangeParams, Exchange, "the bytes that pass the port of an instrument"
)

INSTRUMENT_METHODS = (INSTRUMENTS, READINGS, EXCHANGE)
