"""The operator's screen: reads the daemon over its socket, and touches neither run nor press."""
