"""What the page shows of a machine's work: plots, loads, chapters of a script, and the hours of the house."""
