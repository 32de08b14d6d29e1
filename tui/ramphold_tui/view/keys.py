"""The table of keys: bindings, key line and help are made from it."""

from msgspec import Struct

EVERYWHERE = "everywhere, in text fields too"
OUTSIDE_TEXT = "everywhere but in text fields"
PRESS, BALANCE, WORKSHEET = "at the press", "at the balance", "at the worksheet"
RESULTS, INSTRUMENTS, TIMERS = "in the results", "at the instruments", "at the sieve timers"
SAMPLES = "in the list of samples"

#: Names of two keys that messages speak of.
SEEN, STYLE = "F4", "S"


class Key(Struct, frozen=True):
    """One key.

    Attributes:
        place: where it is live.
        key: what is pressed, as Textual spells it; `name` as a keyboard does.
        action: what it does, as Textual calls it.
        label: its word in the key line; empty if the line has no room for it.
        about: what help says of it.
    """

    place: str
    key: str
    name: str
    action: str
    label: str
    about: str


_PARTS = (
    ("f5", "F5", "start_run", "start", "follow the crush of the chosen specimen; asks first"),
    ("f7", "F7", "new", "new", "record a specimen at the chosen stress"),
    ("f6", "F6", "correct", "correct", "correct an entry, with a reason; the old one stays"),
    ("up,down", "Up Down", "choose", "", "choose another part of the sample"),
)
_TABLE = {
    EVERYWHERE: (
        ("f1", "F1", "help", "help", "show all keys"),
        ("f2", "F2", "go('press')", "press", "the press"),
        ("f3", "F3", "go('balance')", "balance", "the balance"),
        ("f4", SEEN, "acknowledge", "seen", "acknowledge the warnings; the bell stops"),
        ("f9", "F9", "end_record", "end record", "end and keep the record; the press goes on"),
        ("f8", "F8", "initials", "", "enter your initials; they are kept with every mass and run"),
        ("ctrl+p", "Ctrl P", "commands", "", "find a command by a few letters of it"),
        ("ctrl+q", "Ctrl Q", "quit", "close", "close this screen; the run and its recording go on"),
    ),
    OUTSIDE_TEXT: (
        ("w", "W", "go('worksheet')", "worksheet", "a sample's worksheet and its next steps"),
        ("r", "R", "go('results')", "results", "the results: fines, class, and every run"),
        ("i", "I", "go('instruments')", "instruments", "the instruments: health, checks, wear"),
        ("t", "T", "go('timers')", "timers", "the sieve timers; again: start the chosen one"),
        ("question_mark", "?", "help", "", "show all keys, as F1 does"),
        ("slash", "/", "find", "", "find a row of the list by a few letters of it"),
        ("c", "C", "copy", "", "copy a value of this place to the clipboard"),
        ("b", "B", "sounds", "", "sounds of cues and warnings: off or on"),
        ("l", "L", "colours", "", "colours: dark, light, high contrast; remembered"),
        ("ctrl+s", "Ctrl S", "picture", "", "write a picture of the screen to a file"),
    ),
    PRESS: (
        ("enter", "Enter", "go_on", "next", "after a run: go on with the specimen's next step"),
        ("space", "Space", "pump", "pull", "simulated bench: hold for a squeeze, or a stroke"),
        ("v", "V", "open_valve", "valve", "simulated bench: open the valve until you pump again"),
        ("h", "H", "own_hand", "hand", "simulated bench: take or leave the lever yourself"),
        ("s", STYLE, "change_style", "style", "pace in strokes instead of a squeeze, or back"),
        ("n", "N", "choose_sand", "", "simulated bench: choose the sand of the next cell"),
    ),
    BALANCE: (
        ("enter", "Enter", "capture", "keep", "keep the mass as the one asked for, or go on"),
        ("o", "O", "put_on", "put on", "simulated bench: put on the balance what is asked for"),
        ("u", "U", "clear", "empty", "simulated bench: empty the balance"),
        ("m", "M", "by_hand", "by hand", "type a mass, or keep a refused one by giving a reason"),
        *_PARTS,
        ("plus,minus", "+ -", "pinch", "", "simulated bench: add or take away a pinch of sand"),
    ),
    WORKSHEET: (
        ("enter", "Enter", "do_next", "do it", "do the next step of the chosen part"),
        *_PARTS,
        ("escape", "Esc", "samples", "samples", "show all samples"),
        ("p", "P", "plan", "plan", "plan specimens at a stress; one is proposed"),
        ("d", "D", "decide", "decide", "decide whether a specimen or run counts, with a reason"),
        ("left,right", "Left Right", "turn", "", "show another sample"),
    ),
    SAMPLES: (
        ("enter", "Enter", "open", "open", "open the worksheet of the chosen sample"),
        ("f7", "F7", "new", "new", "receive a sample"),
        ("f6", "F6", "correct", "correct", "correct what is recorded of a sample, with a reason"),
        ("up,down", "Up Down", "choose", "", "choose another sample"),
    ),
    RESULTS: (
        ("up,down", "Up Down", "choose", "", "choose another run"),
        ("enter", "Enter", "open_run", "trace", "show the chosen run: its trace and its checks"),
        ("left,right", "Left Right", "turn", "", "show another sample, or all runs"),
    ),
    INSTRUMENTS: (
        ("enter", "Enter", "to_worksheet", "next", "go on with the next step at the worksheet"),
        ("z", "Z", "zero", "zero", "zero the load; a zero that moved too far needs a reason"),
        ("f", "F", "forget", "forget", "forget what the pacing learned of a hand on a press"),
        ("up,down", "Up Down", "scroll", "", "show more, where it does not all fit"),
    ),
    TIMERS: (
        ("enter", "Enter", "go_on", "start", "start the chosen timer; with none, go on"),
        ("o", "O", "end_sieve", "off", "take off the stack that is done, or the next to be done"),
        ("up,down", "Up Down", "choose", "", "choose what goes on the shaker next"),
    ),
}
KEYS = tuple(Key(place, *row) for place, rows in _TABLE.items() for row in rows)


def commands(here: str) -> tuple[Key, ...]:
    """The keys that a person may call by their words at a place: its own first."""
    live = (here, EVERYWHERE, OUTSIDE_TEXT)
    found = [key for place in live for key in KEYS if key.place == place and "," not in key.key]
    return tuple(key for key in found if key.action not in {"commands", "pump"})


def help_lines(here: str) -> list[str]:
    """All keys for a person, place by place: first those of the place where help was opened."""
    lines: list[str] = []
    for place in dict.fromkeys((here, *_TABLE)):
        lines += ["", place] if lines else [place]
        lines += [f"  {key.name:<11}{key.about}" for key in KEYS if key.place == place]
    return lines
