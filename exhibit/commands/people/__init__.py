"""What people do besides running scripts: they stop the typing, take the keyboard, and see to troubles."""
