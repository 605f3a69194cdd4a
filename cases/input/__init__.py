"""The boat file with its load cases, combinations, variants and service."""
