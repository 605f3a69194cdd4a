"""Plates under local loads."""
