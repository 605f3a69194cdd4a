"""The report's tables."""
