"""Dates, eggs and shelters chosen: the best plan that keeps every limit and wish, or why there is none."""
