"""Runs one script, step by step; finds the way home; keeps the programme of the day and its limits."""
