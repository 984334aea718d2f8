"""Each file of a machine's folder, made into plain data: one module for each kind of table."""
