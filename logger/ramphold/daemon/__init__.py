"""The composition root on the press computer: ports, core, database and control, wired up."""
