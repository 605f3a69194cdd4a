"""Lugs, pins, and the fittings made of them."""
