"""The command `exhibit today`: a day, and what the terminal says of it."""
