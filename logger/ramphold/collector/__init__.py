"""The laboratory server: files each record that a bench sends once, and sends a receipt for it.

Each module is imported by its own name: only a report of an archived sample needs numpy.
"""
