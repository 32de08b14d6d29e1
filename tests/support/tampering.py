"""Changes to a database behind the program's back."""

import sqlite3

from ramphold.method.gravimetric import Material
from ramphold.sample import SampleReceived


def received(number):
    return SampleReceived(
        operator="KL", utc_ns=1, laboratory_number=number, client_reference="pit 3",
        material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
    )  # fmt: skip


def tamper(path, *statements, rules=True):
    """Change rows as somebody does who knows the file: rules away, rows changed, rules back."""
    connection = sqlite3.connect(path)
    triggers = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(*statement) if isinstance(statement, tuple) else connection.execute(
            statement
        )
    for _, sql in triggers if rules else ():
        connection.execute(sql)
    connection.commit()
    connection.close()
