"""`python -m exhibit` is the command `exhibit`."""

from exhibit.commands.cli import main

main()
