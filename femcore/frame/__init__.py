"""A frame as arrays, and the builder that describes one by names."""
