"""The one way to a terminal: whatever is written there can be seen, and does nothing else."""
