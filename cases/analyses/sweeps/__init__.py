"""Sweeps over any keys of a boat file: designs by number, worked out in chunks, kept as a dataset that can be resumed."""
