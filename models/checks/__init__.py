"""Which strength checks each part of the front end gets."""
