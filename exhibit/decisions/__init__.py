"""DECISIONS: facts in, commands out. No I/O, no clock, no chance."""
