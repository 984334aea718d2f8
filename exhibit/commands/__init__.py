"""The command line: starts the processes, looks after them, and talks with the person at the terminal."""
