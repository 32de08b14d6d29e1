"""Every error that Ramphold raises; each says what was expected, where, and what to do.

Two groups: those where a person must act, and those that mean a bug or a broken peer.
"""

__all__ = [
    "CommandRefused",
    "ConfigError",
    "InputError",
    "LinkError",
    "PlanError",
    "PortError",
    "RampholdError",
    "StoreError",
    "TransitionError",
    "UnitError",
    "WireError",
]


class RampholdError(Exception):
    """Base of all our errors; its text is one line that a person can act on."""


# --- A person must act -------------------------------------------------------------------------


class InputError(RampholdError, ValueError):
    """A file or an argument is not what was expected; names the file and the place in it."""


class UnitError(InputError):
    """A quantity's text has no unit, an unknown one, or one of another quantity."""


class PlanError(InputError):
    """A run plan that must not be started: a target over the rating, a rate of zero."""


class ConfigError(InputError):
    """A configuration file that can't be used; names the file and the key."""


class PortError(RampholdError, OSError):
    """A port can't be opened, or went away while in use."""


class LinkError(RampholdError, ConnectionError):
    """Nothing answers on the control socket, or the link to it broke."""


class CommandRefused(RampholdError):
    """The daemon understood a command and declines it; the text says why."""


class StoreError(RampholdError, OSError):
    """The database can't be opened, read or written."""


# --- A bug, or a peer that does not keep to the protocol ---------------------------------------


class WireError(RampholdError, ValueError):
    """Bytes that do not keep to the protocol they should speak."""


class TransitionError(RampholdError, RuntimeError):
    """A run state was asked for a transition that its table does not have."""
