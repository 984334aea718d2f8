"""What people do besides running scripts."""
