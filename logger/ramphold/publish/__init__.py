"""Sends the bench's records to the laboratory's server. The press works on without any of it.

Each module is imported by its own name: who only reads a configuration needs neither broker nor
store.
"""
