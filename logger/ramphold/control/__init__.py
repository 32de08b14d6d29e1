"""The control socket: `methods` for both sides, `server` for the daemon, `client` for the rest."""
