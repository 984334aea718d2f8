"""Reads what the machine prints, recognises its prompts and displays, and types commands at it."""
