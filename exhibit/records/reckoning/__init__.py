"""What `exhibit sums` says about a machine's recordings: rows of the index in, results with what they rest on
out.
"""
