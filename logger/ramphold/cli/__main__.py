"""`python -m ramphold.cli` is `ramphold`."""

from ramphold.cli import main

main()
