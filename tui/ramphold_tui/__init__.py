"""The operator's screen: it shows and asks what the daemon does, over the daemon's socket."""
