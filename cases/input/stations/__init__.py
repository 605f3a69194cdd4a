"""Hull stations from files: a module per format, and one step that checks and reduces what they have."""
