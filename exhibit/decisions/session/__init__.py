"""Runs scripts step by step, finds the way home, and follows the programme of the day within its limits."""
