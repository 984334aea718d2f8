"""The serial line: opening it, reading it, typing at it, and what can go wrong."""
