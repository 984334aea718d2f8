"""Calculates what engineers need to know, from facts and a machine's description."""
