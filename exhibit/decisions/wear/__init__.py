"""Sums up the use of the machine: hours, starts and stops, exercisers, disc errors."""
