"""Drawings of any frame or section in one style."""
