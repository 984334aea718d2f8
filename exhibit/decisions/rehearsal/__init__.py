"""Runs scripts again over a recording, in virtual time and without a machine."""
