"""All errors of Ramphold. Each says what was expected, where, and what to do.

There are two groups: a person must act, or there is a bug or a broken peer.
"""


class RampholdError(Exception):
    """Base of all our errors. Its text is one line that a person can act on."""


# --- A person must act -------------------------------------------------------------------------


class InputError(RampholdError, ValueError):
    """A file or an argument is not as expected. The text names the file and the place in it."""


class UnitError(InputError):
    """The unit of a quantity is missing, unknown, or of another quantity."""


class PlanError(InputError):
    """A run plan that must not be started, such as a target over the rating or a rate of zero."""


class ConfigError(InputError):
    """A configuration file that cannot be used. The text names the file and the key."""


class PortError(RampholdError, OSError):
    """A port cannot be opened, or disappeared while in use."""


class LinkError(RampholdError, ConnectionError):
    """Nothing answers on the control socket, or the link to it broke."""


class CommandRefused(RampholdError):
    """The daemon understood a command and declines it. The text says why."""


class StoreError(RampholdError, OSError):
    """The database cannot be opened, read or written."""


class StoreUnwritable(StoreError):
    """The database takes nothing now and may later: the disk is full, or it is locked."""


class StoreDamaged(StoreUnwritable):
    """The database's file is not what was written into it: nothing more goes into it."""


class KeyFileError(RampholdError):
    """A key's file that must not be used, or cannot be made; only signing waits for it."""


# --- A bug, or a peer that violates the protocol -----------------------------------------------


class WireError(RampholdError, ValueError):
    """Bytes that violate their protocol."""


class TransitionError(RampholdError, RuntimeError):
    """A run state was asked for a transition that its table does not have."""
