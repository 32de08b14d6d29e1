"""The page of `costs.py`, from its figures."""

#: What other benches measure, and the command of each.
OTHERS = {
    "make bench-pacing": "what the cues make of ramp and hold, beside unaided hands",
    "make bench-keeping": "what a run takes of the database, and questions of a full one",
    "make bench-screen": "from a reading or a key to the screen",
    "make bench-collecting": "the collector beside a bare loop, three rounds of many messages",
    "make bench-catch-up": "a bench that was away for a month",
    "make bench-faults": "faults between bench and server",
    "make bench-hostile": "hostile messages",
    "make bench-laboratory": "whether U covers the true value",
    "make bench-monkey": "random keys on the screen",
    "make bench-month": "memory and open files of the daemon over a simulated month",
    "make mutate": "how many wrong changes of the code no test notices",
    "make soak": "10 000 runs while everything is killed",
}
#: A core of a Raspberry Pi is taken to be so many times slower; nobody has measured it here.
PI_TIMES = 5
BOUNDS = {"screen, to its first paint": "  at most 0.6", "ramphold --help": "  at most 0.25"}


def page(found):
    """The figures as text."""
    parts = (_machine, _reading, _latency, _use, _starts, _imports, _work, _pi, _others)
    return "\n\n".join("\n".join(part(found)) for part in parts) + "\n"


def _machine(found):
    of = found["machine"]
    yield (
        f"{of['processor']}, {of['cores']} cores, Python {of['python']}, "
        f"load {of['load_before']:.1f} before; {found['took_s']:.0f} s in all"
    )


def _reading(found):
    one = found["reading"]
    yield (
        "A reading, from its bytes to a committed row and an encoded snapshot of "
        f"{one['snapshot_bytes']} bytes; us each, of {one['readings']}"
    )
    for name, us in one["stages_us"].items():
        yield _row(name, f"{us:8.1f}")
    yield _row("all, without the watch on the stages", f"{one['us']:8.1f}  at most 120")
    yield _row("bare loop of re, sqlite3 and json", f"{one['bare_us']:8.1f}")
    yield _row("times the bare loop", f"{one['ratio']:8.1f}  at most 3")


def _latency(found):
    yield "From byte to subscriber at 80 readings/s, ms         p50     p99     max"
    for name, late in found["latency"].items():
        figures = "".join(f"{late[one]:8.1f}" for one in ("p50_ms", "p99_ms", "max_ms"))
        bound = "; p99 at most 10" if name == "busy disk" else ""
        yield _row(name, f"{figures}  of {late['heard']}/{late['sent']}{bound}")


def _use(found):
    yield "readings/s  screens   daemon %      MB   a screen %      MB      (of one core)"
    for row in found["use"]:
        shown, bound = "", ""
        if row["screens"]:
            shown = f"{row['screen_pct']:13.1f}{row['screen_mb']:8.0f}"
        if (row["readings_per_s"], row["screens"]) == (80, 1):
            bound = "  daemon at most 4"
        yield (
            f"{row['readings_per_s']:>10}{row['screens']:9}"
            f"{row['daemon_pct']:11.1f}{row['daemon_mb']:8.0f}{shown}{bound}"
        )


def _starts(found):
    yield "Start, s"
    for name, took in found["starts"].items():
        yield _row(name, f"{took:8.2f}{BOUNDS.get(name, '')}")


def _imports(found):
    yield "Import of command line, daemon and screen, each module with what it imports, ms"
    for dearest in found["imports"].values():
        for name, ms in dearest.items():
            yield _row(name, f"{ms:8.1f}")


def _work(found):
    yield "Work"
    for name, row in found["report"].items():
        yield _row(f"report of 15 runs, {name}", f"{row['s']:8.2f} s, {row['mb']:.0f} MB")
    again = found["replay"]
    yield _row(
        f"replay of {again['readings']} readings",
        f"{again['s']:8.2f} s, {again['times_life']:.0f} times as fast as life",
    )
    for row in found["opening"]:
        yield _row(
            f"opening a database of {row['specimens']} specimens",
            f"{row['open_ms']:8.1f} ms, {row['first_page_ms']:.1f} ms to the first page, "
            f"{row['mb']:.0f} MB",
        )
    for name, row in found["collector"].items():
        yield _row(
            f"collector, {name}",
            f"{row['per_s']:8.0f} messages/s, {row['ratio']:.2f} of a bare loop",
        )


def _pi(found):
    row = next(one for one in found["use"] if (one["readings_per_s"], one["screens"]) == (80, 1))
    daemon, shown = PI_TIMES * row["daemon_pct"], PI_TIMES * row["screen_pct"]
    yield (
        f"No Raspberry Pi was measured. If one core of it is {PI_TIMES} times slower than one of "
        "these, it needs"
    )
    yield (
        f"{daemon:.0f} % of a core for the daemon at 80 readings/s, and {shown:.0f} % for a screen."
    )


def _others(_):
    yield "Other benches"
    for command, what in OTHERS.items():
        yield f"  {command:<24}{what}"


def _row(name, rest):
    return f"  {name:<46}{rest}"
