"""What the screen says and draws, and which keys are live. Pure: no widget, I/O or clock."""
