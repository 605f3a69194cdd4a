"""The report's pictures."""
