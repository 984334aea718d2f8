"""`python -m exhibit` is the command `exhibit`."""

from exhibit.edges.cli import main

main()
