"""Bolt groups, bolts, and the plates and laminates that they hold."""
