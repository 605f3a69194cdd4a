"""Whole pages: the report, the textbook chapter, and their templates."""
