"""Struts, wires and ropes."""
