"""Everything that the daemon can be asked, and everything that it tells.

Server, client, documentation and tests read these two tables. Parameters go by name; an unknown
one is an error. Every number is in the unit that its name ends in; every time is in ns.
"""

from typing import Any

from ramphold.control.act import ON_RECORD, Method, RecordAdded, Topic
from ramphold.control.bench_methods import BENCH_METHODS
from ramphold.control.choice_methods import CHOICE_METHODS
from ramphold.control.hand_methods import HAND_METHODS
from ramphold.control.instrument_methods import (
    INSTRUMENT_METHODS,
    ON_HEALTH,
    ON_MASS,
    InstrumentsHealth,
)
from ramphold.control.key_methods import KEY_METHODS
from ramphold.control.mass_methods import MASS_METHODS
from ramphold.control.people_methods import PEOPLE_METHODS
from ramphold.control.publish_methods import PUBLISH_METHODS
from ramphold.control.run_methods import ON_EVENT, ON_SNAPSHOT, RUN_METHODS, Live, RunEvent
from ramphold.control.run_queries import RUN_QUERIES
from ramphold.control.sample_methods import SAMPLE_METHODS
from ramphold.control.server_methods import ON_TRUST, SERVER_METHODS, BenchTrust
from ramphold.control.shaker_methods import SHAKER_METHODS
from ramphold.control.simulated_methods import SIMULATED_METHODS
from ramphold.control.specimen_methods import SPECIMEN_METHODS
from ramphold.core import MassReading

METHODS: dict[str, Method[Any, Any]] = {
    method.name: method
    for method in (
        *SERVER_METHODS, *INSTRUMENT_METHODS, *RUN_METHODS, *RUN_QUERIES, *SAMPLE_METHODS,
        *CHOICE_METHODS, *SPECIMEN_METHODS, *MASS_METHODS, *SHAKER_METHODS, *BENCH_METHODS,
        *HAND_METHODS, *PEOPLE_METHODS, *KEY_METHODS, *PUBLISH_METHODS, *SIMULATED_METHODS,
    )
}  # fmt: skip

TOPICS: dict[str, Topic[Any]] = {
    topic.name: topic for topic in (ON_SNAPSHOT, ON_EVENT, ON_RECORD, ON_MASS, ON_HEALTH, ON_TRUST)
}

#: What a subscriber is given.
Told = Live | RunEvent | RecordAdded | MassReading | InstrumentsHealth | BenchTrust
