"""Thirty-two cunning edits of a bench's database by a script that can write all of it.

Each changes the decoded records; the script then works out every number and link anew, takes the
rules away and puts them back, and deletes each head and receipt that no longer fits.
"""

import msgspec
from msgspec import structs

from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import sign_head
from ramphold.store._head_store import HEAD_COLUMNS
from ramphold.wire import link

__all__ = ["EDITS", "SIGNED", "forge", "of", "setting", "without"]


def of(records, kind, **fields):
    return [one for one in records if one["kind"] == kind
            and all(one.get(name) == value for name, value in fields.items())]  # fmt: skip


def setting(kind, name, value, *, at=0, **fields):
    """An edit that sets one field of one record."""

    def edit(records):
        of(records, kind, **fields)[at][name] = value
        return records

    return edit


def pans(records):
    for one in of(records, "mass", test="crush", item="pan", load="gross")[:6]:
        one["mass_g"] -= 0.5
    return records


def without(kind, at=0):
    def edit(records):
        gone = of(records, kind)[at]
        return [one for one in records if one is not gone]

    return edit


def cut(count):
    return lambda records: records[:-count]


def swapped(kind, name, first=0, second=1):
    def edit(records):
        one, other = of(records, kind)[first], of(records, kind)[second]
        one[name], other[name] = other[name], one[name]
        return records

    return edit


def limits(records):
    of(records, "run")[0]["checks"][0]["high"] += 500.0
    return records


def later(records):
    for one in records:
        one["utc_ns"] += 86_400 * 10**9
    return records


def added(at):
    def edit(records):
        new = {"kind": "exclusion", "sample": 1, "operator": "KL", "utc_ns": 1, "specimen": 1,
               "excluded": True, "reason": "spilt", "record": 0}  # fmt: skip
        place = len(records) if at is None else at
        return [*records[:place], new, *records[place:]]

    return edit


def in_signature(kind, name, value):
    """An edit that sets one field of a person's signature."""

    def edit(records):
        of(records, kind)[0]["signed"][name] = value
        return records

    return edit


#: What a person signed, in other words: found by the file alone also with the bench's key in hand.
SIGNED = {
    "the reviewer changed": setting("review", "operator", "XX"),
    "the reviewer's name changed": in_signature("review", "name", "K. Lund"),
    "the reviewer's function changed": in_signature("review", "function", "director"),
    "the review signed by a forger's own key": in_signature(
        "review", "key", SigningKey.generate().public
    ),
    "the signature of a review taken away": setting("review", "signed", None),
    "whether a run counts turned round": setting("decision", "counts", value=True),
    "the reason of a decision changed": setting("decision", "reason", "looks fine"),
    "who issued a report changed": setting("report", "operator", "XX"),
    "the function of a person changed": setting("person", "function", "director"),
}

EDITS = {
    "six pan masses made lighter": pans,
    "one charge made heavier": setting("mass", "mass_g", 41.0, test="crush", item="charge"),
    "a certificate's uncertainty cut to a tenth": setting("certificate", "expanded_uncertainty",
                                                          6.0),
    "a certificate's due date moved": setting("certificate", "due", "2036-01-13"),
    "a report that was issued removed": without("report"),
    "a press warning removed": without("press warning"),
    "a mass of the control sand changed": setting("mass", "mass_g", 114.0, test="crush", at=-2,
                                                  item="pan", load="gross"),
    "the numbers of two samples swapped": swapped("sample", "laboratory_number"),
    "the specimens of two masses swapped": swapped("mass", "mass_g", 30, 33),
    "the newest record cut off": cut(1),
    "the newest 10 records cut off": cut(10),
    "the newest 100 records cut off": cut(100),
    "the time of a run moved": setting("run", "started_utc_ns", 1_772_000_000 * 10**9),
    "all times moved by a day": later,
    "the limits of a check widened": limits,
    "a verdict changed": setting("run", "verdict", "fail"),
    "the hold of a run made better": setting("run", "hold_mean_psi", 8000.0),
    "the operator of a mass changed": setting("mass", "operator", "XX", at=5),
    "a specimen left out, at the end": added(None),
    "a specimen left out, in the middle": added(60),
    "a planned stress changed": setting("stress plan", "stress_psi", 9500.0),
    "the volume of a cylinder changed": setting("cylinder", "volume_cm3", 95.0),
    "a cell declared new": setting("equipment check", "new", value=False),
} | SIGNED  # fmt: skip


def forge(connection, edit, key=None):
    """Apply an edit; with the bench's key in hand, sign the result as the bench would."""
    triggers = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    bodies = connection.execute("SELECT body FROM records ORDER BY id").fetchall()
    records = edit([msgspec.json.decode(body) for (body,) in bodies])
    connection.execute("DELETE FROM outbox")
    connection.execute("DELETE FROM records")
    ends, tree, roots = {}, MerkleTree(), {}
    for number, record in enumerate(records, 1):
        body = msgspec.json.encode(record | {"record": number}, order="sorted").decode()
        end = link(ends.get(record["sample"], ""), body.encode())
        connection.execute("INSERT INTO records (id, body, link) VALUES (?, ?, ?)",
                           (number, body, end))  # fmt: skip
        ends[record["sample"]] = end
        tree.append(end)
        roots[number] = tree.root()
    if key is None:
        for count, root in connection.execute("SELECT count, root FROM heads").fetchall():
            if roots.get(count) != root:
                connection.execute("DELETE FROM heads WHERE root = ?", (root,))
    else:
        connection.execute("DELETE FROM heads")
        head = sign_head(key, "head", len(records), roots[len(records)], 9)
        connection.execute(
            f"INSERT INTO heads ({HEAD_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",  # noqa: S608 - ours
            structs.astuple(head),
        )
    for _, sql in triggers:
        connection.execute(sql)
    connection.commit()
