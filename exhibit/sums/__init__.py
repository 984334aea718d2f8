"""SUMS: what can be worked out from facts and numbers. Pure functions; no I/O, no clock, no chance."""
