"""Turns bytes into complete items, and items into what a screen or paper shows."""
