"""The command `exhibit practice`: a day at the simulated machine, and mistakes to practise on."""
