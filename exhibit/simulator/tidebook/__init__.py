"""TIDEBOOK, the Whimbrel's operating system, and the programs that it runs."""
