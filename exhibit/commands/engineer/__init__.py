"""The engineer's commands on recordings and on what was written down, one module for each group of them."""
