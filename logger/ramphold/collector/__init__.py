"""The laboratory server's side: takes what the benches send, files it once, says that it did."""

from ramphold.collector._archive import Archive, open_archive

__all__ = ["Archive", "open_archive"]
