"""Passes characters between the machine and its old terminal, in a process of its own."""
