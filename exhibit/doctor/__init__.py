"""Looks at this computer, and says what is wrong with it for exhibit and which command mends it."""
