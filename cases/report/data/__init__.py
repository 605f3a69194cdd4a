"""The numbers of a report: results.json, its schema and the tables' values."""
