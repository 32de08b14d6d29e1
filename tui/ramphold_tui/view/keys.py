"""The one table of keys; bindings, key line and help are made from it. Pure."""

from dataclasses import dataclass, replace

__all__ = [
    "BALANCE",
    "EVERYWHERE",
    "INSTRUMENTS",
    "KEYS",
    "OUTSIDE_TEXT",
    "PRESS",
    "RESULTS",
    "SAMPLES",
    "SEEN",
    "STYLE",
    "TIMERS",
    "WORKSHEET",
    "Key",
    "help_lines",
]

EVERYWHERE = "everywhere, in text fields too"
OUTSIDE_TEXT = "everywhere but in text fields"
PRESS, BALANCE, WORKSHEET = "at the press", "at the balance", "at the worksheet"
RESULTS, INSTRUMENTS, TIMERS = "in the results", "at the instruments", "at the sieve timers"
SAMPLES = "in the list of samples"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key.

    Attributes:
        key: what is pressed, as Textual spells it; `name` as a keyboard does.
        action: what it does, as Textual calls it.
        label: its word in the key line.
        about: what help says of it.
        place: where it is live.
        listed: whether the key line has room for it.
    """

    key: str
    name: str
    action: str
    label: str
    about: str
    place: str = EVERYWHERE
    listed: bool = True


#: Keys that the screen speaks of elsewhere too.
SEEN = Key(
    key="f4",
    name="F4",
    action="acknowledge",
    label="seen",
    about="say that the warnings were seen, which stops the bell",
)
STYLE = Key(
    key="s",
    name="S",
    action="change_style",
    label="style",
    about="pace in strokes instead of a squeeze, or in a squeeze again",
    place=PRESS,
)

#: At the balance as at the worksheet.
_AT_WORK = (
    Key(
        key="f5",
        name="F5",
        action="start_run",
        label="start",
        about="follow the crush of the chosen specimen; asks first",
    ),
    Key(
        key="f7",
        name="F7",
        action="new",
        label="new",
        about="record a specimen at the chosen stress",
    ),
    Key(
        key="f6",
        name="F6",
        action="correct",
        label="correct",
        about="put right what was wrong, with a reason; the old one stays",
    ),
    Key(
        key="up,down",
        name="Up Down",
        action="choose",
        label="part",
        about="choose another part of the sample",
        listed=False,
    ),
)

KEYS = (
    Key(key="f1", name="F1", action="help", label="help", about="show all keys"),
    Key(key="f2", name="F2", action="go('press')", label="press", about="go to the press"),
    Key(key="f3", name="F3", action="go('balance')", label="balance", about="go to the balance"),
    SEEN,
    Key(
        key="f9",
        name="F9",
        action="end_record",
        label="end record",
        about="end the run's record now and keep it; the press goes on",
    ),
    Key(
        key="f8",
        name="F8",
        action="initials",
        label="initials",
        about="say who works here; kept with every mass and run",
        listed=False,
    ),
    Key(
        key="ctrl+q",
        name="Ctrl Q",
        action="quit",
        label="close",
        about="close this screen; run and recording go on without it",
    ),
    Key(
        key="w",
        name="W",
        action="go('worksheet')",
        label="worksheet",
        about="go to the worksheet: a sample, and what is next of it",
        place=OUTSIDE_TEXT,
        listed=False,
    ),
    Key(
        key="r",
        name="R",
        action="go('results')",
        label="results",
        about="go to the results: fines, class, and every run",
        place=OUTSIDE_TEXT,
        listed=False,
    ),
    Key(
        key="i",
        name="I",
        action="go('instruments')",
        label="instruments",
        about="go to the instruments: health, checks, calibration, wear",
        place=OUTSIDE_TEXT,
        listed=False,
    ),
    Key(
        key="t",
        name="T",
        action="go('timers')",
        label="timers",
        about="go to the sieve timers; again: start the chosen one",
        place=OUTSIDE_TEXT,
        listed=False,
    ),
    STYLE,
    Key(
        key="h",
        name="H",
        action="own_hand",
        label="hand",
        about="simulated bench: your own hand takes the lever or leaves it",
        place=PRESS,
    ),
    Key(
        key="space",
        name="Space",
        action="pump",
        label="pump",
        about="simulated bench: hold for a squeeze, press for a stroke",
        place=PRESS,
        listed=False,
    ),
    Key(
        key="v",
        name="V",
        action="open_valve",
        label="valve",
        about="simulated bench: open the valve, until you pump again",
        place=PRESS,
        listed=False,
    ),
    Key(
        key="enter",
        name="Enter",
        action="capture",
        label="keep",
        about="keep the mass on the balance as what is to be weighed next",
        place=BALANCE,
    ),
    Key(
        key="m",
        name="M",
        action="by_hand",
        label="by hand",
        about="type a mass, or keep with a reason one that was refused",
        place=BALANCE,
    ),
    *(replace(key, place=BALANCE) for key in _AT_WORK),
    Key(
        key="enter",
        name="Enter",
        action="do_next",
        label="do it",
        about="do what is next for the chosen part",
        place=WORKSHEET,
    ),
    *(replace(key, place=WORKSHEET) for key in _AT_WORK),
    Key(
        key="escape",
        name="Esc",
        action="samples",
        label="samples",
        about="show all samples",
        place=WORKSHEET,
    ),
    Key(
        key="p",
        name="P",
        action="plan",
        label="plan",
        about="plan specimens at a stress; one is proposed",
        place=WORKSHEET,
    ),
    Key(
        key="d",
        name="D",
        action="decide",
        label="decide",
        about="decide whether a specimen or its run counts, with a reason",
        place=WORKSHEET,
    ),
    Key(
        key="left,right",
        name="Left Right",
        action="turn",
        label="sample",
        about="turn to another sample",
        place=WORKSHEET,
        listed=False,
    ),
    Key(
        key="enter",
        name="Enter",
        action="open",
        label="open",
        about="open the worksheet of the chosen sample",
        place=SAMPLES,
    ),
    Key(
        key="f7",
        name="F7",
        action="new",
        label="new",
        about="receive a sample",
        place=SAMPLES,
    ),
    Key(
        key="f6",
        name="F6",
        action="correct",
        label="correct",
        about="put right what was said of a sample, with a reason",
        place=SAMPLES,
    ),
    Key(
        key="up,down",
        name="Up Down",
        action="choose",
        label="sample",
        about="choose another sample",
        place=SAMPLES,
        listed=False,
    ),
    Key(
        key="up,down",
        name="Up Down",
        action="choose",
        label="run",
        about="choose another run",
        place=RESULTS,
        listed=False,
    ),
    Key(
        key="enter",
        name="Enter",
        action="open_run",
        label="trace",
        about="show the chosen run: its trace, and how it was judged",
        place=RESULTS,
    ),
    Key(
        key="left,right",
        name="Left Right",
        action="turn",
        label="sample",
        about="turn to another sample, and to all runs",
        place=RESULTS,
        listed=False,
    ),
    Key(
        key="z",
        name="Z",
        action="zero",
        label="zero",
        about="take the load's zero; one that moved too far with a reason",
        place=INSTRUMENTS,
    ),
    Key(
        key="enter",
        name="Enter",
        action="start_sieve",
        label="start",
        about="start the chosen timer: the shaker runs from now",
        place=TIMERS,
    ),
    Key(
        key="o",
        name="O",
        action="end_sieve",
        label="off",
        about="the one that is done, or the next to be, was taken off",
        place=TIMERS,
    ),
    Key(
        key="up,down",
        name="Up Down",
        action="choose",
        label="which",
        about="choose what goes on the shaker next",
        place=TIMERS,
        listed=False,
    ),
)


def help_lines(here: str) -> list[str]:
    """All keys for a person, place by place: first those of the place where help is asked for."""
    lines: list[str] = []
    for place in dict.fromkeys((here, *(key.place for key in KEYS))):
        lines += ["", place] if lines else [place]
        lines += [f"  {key.name:<11}{key.about}" for key in KEYS if key.place == place]
    return lines
