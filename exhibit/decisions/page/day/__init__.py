"""The machine's work over time as the page shows it: plots, loads, steps, the day, pictures, the scene."""
