"""A boat file becomes a frame, and what each of its parts can stand."""
