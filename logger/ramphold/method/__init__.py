"""The trade: pure functions over numbers and tables, one module per subject."""
