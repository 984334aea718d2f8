"""What the machine prints, what stands on the console, and how a command is typed at it."""
