"""Chances from distributions: design point, sampling, shares of a variance, over any limit state; it knows nothing of boats."""
