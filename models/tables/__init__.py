"""The validated tables of a boat file that build the boat's objects."""
