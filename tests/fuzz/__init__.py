"""Everything that reads what others wrote, given what nobody would write."""
