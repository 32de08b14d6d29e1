"""The next step and what lies on the balance, in a few words and in large letters."""

from ramphold import sample
from ramphold.method.gravimetric import TESTS
from ramphold.sample import EquipmentChecked, Load, NextStep, SieveUse, Step, Tick, WeighingPlace

#: A step in letters that are read from two metres; what is to be weighed has letters of its own.
LARGE = {
    Step.CHOOSE_CYLINDER: "CYLINDER",
    Step.CHOOSE_SIEVE: "SIEVE",
    Step.CHOOSE_INSTRUMENT: "DEVICE",
    Step.ENTER: "ENTER",
    Step.PLAN: "PLAN",
    Step.ADD_SPECIMEN: "SPECIMEN",
    Step.TICK: "TICK OFF",
    Step.CRUSH: "START RUN",
    Step.AT_PRESS: "AT PRESS",
    Step.DECIDE: "DECIDE",
    Step.LEAVE_OUT: "LEAVE OUT",
    Step.SHAKE: "SHAKE",
    Step.REVIEW: "REVIEW",
    Step.REPORT: "REPORT",
}
_SHORT = {Step.CHOOSE_CYLINDER: "choose the cylinder", Step.REVIEW: "have it reviewed"}
_ENTER = {
    Step.WEIGH: "Enter: to the balance",
    Step.CHOOSE_CYLINDER: "Enter: choose it",
    Step.CHOOSE_SIEVE: "Enter: choose it",
    Step.CHOOSE_INSTRUMENT: "Enter: choose it",
    Step.ENTER: "Enter: type it",
    Step.PLAN: "Enter: plan it",
    Step.ADD_SPECIMEN: "Enter: record it",
    Step.TICK: "Enter: tick it off",
    Step.CRUSH: "Enter: asks, then starts",
    Step.AT_PRESS: "Enter: to the press",
    Step.DECIDE: "Enter: decide",
    Step.LEAVE_OUT: "Enter: asks, then leaves it out",
    Step.SHAKE: "Enter: start the time",
    Step.REVIEW: "Enter: record the review",
    Step.REPORT: "",
}
#: What is confirmed in one question, with the cell under the press.
UNDER_PRESS = (Tick.LEVEL, Tick.TURNED, Tick.ZEROED)
_FILLED = {Load.TARE: ", empty", Load.GROSS: ", full", Load.NET: ""}
_IN_VESSEL = {Load.TARE: ": its vessel, empty", Load.GROSS: ", in its vessel", Load.NET: ""}
_PAN = {Load.TARE: "the empty pan", Load.GROSS: "the pan with fines", Load.NET: "the fines"}
_PREPARED = {
    "received": "the sample as received",
    "split": "the split portion",
    "washed": "the washed portion",
    "dried": "the dried portion",
    "sieved": "what goes on the sieves of the cut",
    "kept": "what the cut keeps",
    "discarded": "what the cut discards",
}


def starts_run(step: NextStep | None) -> bool:
    """Whether all that is left before the crush is confirmed when its run is started."""
    return step is not None and (step.step is Step.CRUSH or step.tick in UNDER_PRESS)


def step_words(step: NextStep) -> str:
    """A step in a few words."""
    if step.place is not None:
        return f"weigh {place_words(step.place)}"
    if step.sieve_use is SieveUse.STACK:
        return f"choose sieves: {len(step.sieves)} of the stack"
    if step.step is Step.ADD_SPECIMEN:
        return step.text.removesuffix(f" at {step.stress_psi:g} psi")
    if step.step is Step.DECIDE:
        return f"decide: run {step.run} failed"
    if step.step is Step.LEAVE_OUT:
        return f"leave it out: run {step.run} broke off"
    return "start its run" if starts_run(step) else _SHORT.get(step.step, step.text)


def large_step(step: NextStep | None) -> str:
    """A step in one or two words that are read from two metres."""
    if step is None:
        return "DONE"
    if starts_run(step):
        return LARGE[Step.CRUSH]
    return large_place(step.place) if step.place else LARGE[step.step]


def enter_words(step: NextStep | None) -> str:
    """What Enter does about a step."""
    if step is None:
        return "Enter: on to the next"
    return _ENTER[Step.CRUSH if starts_run(step) else step.step]


def place_words(place: WeighingPlace) -> str:
    """What lies on the balance, as it reads in a sentence."""
    filled, in_vessel = _FILLED[place.load], _IN_VESSEL[place.load]
    match place.test, place.item:
        case sample.SIEVING, "charge":
            words = f"the charge of the stack{in_vessel}"
        case sample.SIEVING, item:
            name = "the pan" if item == "pan" else f"sieve No. {item}"
            words = f"{name}{filled}" if filled else f"what {name} holds"
        case sample.DENSITY, item:
            words = f"the density cylinder{filled}" if filled else "what the density cylinder holds"
            words += f", {item}" if item != sample.FILLS[0] else ""
        case sample.CYLINDER, item:
            words = f"cylinder {item}{filled}"
        case sample.CRUSH, "pan":
            words = _PAN[place.load]
        case sample.CRUSH, "retained":
            words = f"what the sieve retained{in_vessel}"
        case sample.CRUSH, _:
            words = f"the charge{in_vessel}"
        case ((sample.PREPARATION | sample.CUT), item):
            words = f"{_PREPARED[item]}{in_vessel}"
        case test, item:
            kind = TESTS[test]
            words = f"{kind.before if item == 'before' else kind.after}{in_vessel}"
    return words


def sieve_option(check: EquipmentChecked) -> str:
    """A sieve to choose, in one line."""
    opening = "opening not measured"
    if check.measured is not None:
        opening = f"mean opening {check.measured:.4f} mm"
    return f"{check.name}: {opening}" + (f", due {check.due}" if check.due else "")


def instrument_option(check: EquipmentChecked) -> str:
    """An instrument to choose, in one line."""
    said = f"{check.name}: {check.certificate or 'no certificate'}"
    return said + (f", due {check.due}" if check.due else "")


def large_place(place: WeighingPlace) -> str:
    """The same in as few letters as are read from two metres."""
    filled = {Load.TARE: " EMPTY", Load.GROSS: " FULL", Load.NET: ""}[place.load]
    if place.item.isdigit():
        return f"NO.{place.item}{filled}"
    if place.test in (sample.DENSITY, sample.CYLINDER):
        return f"CYL.{filled}"
    return f"{place.item.upper()}{filled}"
