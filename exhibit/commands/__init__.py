"""The command line: starts the processes, looks after them, and speaks with the person at the terminal."""
