"""Keys, signatures and the tree of records; each module is imported by its name."""
