"""Reads a machine's folder and finds all the mistakes in it at once."""
