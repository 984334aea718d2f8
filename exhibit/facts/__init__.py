"""FACTS: plain data. No I/O, no clock."""
