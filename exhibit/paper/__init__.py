"""What is printed: the card for a day without this computer, and the summary of a day."""
