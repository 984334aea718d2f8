"""What an engineer writes down: appended in files of their own, and read back."""
