"""What is used up: hours, starts and stops, exercisers, disc errors."""
