"""Errors, units, TOML with all its faults, vectors, arrays and number formatting: what every other folder builds on."""
