"""Invented machines that nothing in exhibit was built for, to try the program on what it has never met."""
