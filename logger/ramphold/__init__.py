"""Ramphold: the instrument beside the crush press."""

__version__ = "0.1.0"
