"""The report's sections, and the sentences in them."""
