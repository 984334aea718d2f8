"""What a machine's folder says, as plain data that has already been checked."""
