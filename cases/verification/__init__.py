"""Textbook cases and convergence studies."""
