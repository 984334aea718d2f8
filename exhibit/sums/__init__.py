"""The engineer's sums."""
