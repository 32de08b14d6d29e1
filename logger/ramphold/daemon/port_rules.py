"""The text of udev's rules that name the instruments' ports. Pure."""

import re

from ramphold.instruments import Adapter

_HEAD = """\
# Written by `ramphold setup`: the ports of the instruments, in whatever order they are plugged in.
# A rule knows an adapter by its serial number, or by its USB socket where it has none of its own.
# ID_MM_DEVICE_IGNORE keeps a modem manager, if one is installed, away from the instrument.
"""
_PLAIN = re.compile(r"[A-Za-z0-9._:+-]+")


def can_be_named(adapter: Adapter) -> bool:
    """Whether udev knows the adapter by something that a rule can match."""
    return any(_PLAIN.fullmatch(known) for known in (adapter.serial, adapter.path))


def port_rules(chosen: dict[str, Adapter], present: list[Adapter]) -> str:
    """The rules that name adapters.

    Args:
        chosen: the adapter of each instrument, `load` or `balance`; those that `can_be_named`.
        present: all adapters: one whose serial number another has is known by its socket.
    """
    rules = []
    for name, adapter in chosen.items():
        twins = [one for one in present if one.serial == adapter.serial and one != adapter]
        same_device = all(one.interface != adapter.interface for one in twins)
        if not _PLAIN.fullmatch(adapter.serial) or (twins and not same_device):
            match = f'IMPORT{{builtin}}="path_id", ENV{{ID_PATH}}=="{adapter.path}"'
        elif twins:
            match = (
                f'IMPORT{{builtin}}="usb_id", ENV{{ID_SERIAL_SHORT}}=="{adapter.serial}", '
                f'ENV{{ID_USB_INTERFACE_NUM}}=="{adapter.interface}"'
            )
        else:
            match = f'SUBSYSTEMS=="usb", ATTRS{{serial}}=="{adapter.serial}"'
        rules.append(
            f'SUBSYSTEM=="tty", {match}, SYMLINK+="ramphold-{name}", '
            'ENV{ID_MM_DEVICE_IGNORE}="1"\n'
        )
    return _HEAD + "".join(rules)
