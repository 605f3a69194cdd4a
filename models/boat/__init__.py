"""The boat: hulls, crossbeam, and the parts beside them."""
