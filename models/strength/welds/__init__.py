"""Fillet welds and the metal beside them."""
