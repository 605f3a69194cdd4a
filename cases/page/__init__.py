"""A local page in the browser: a boat changed by hand, its answer beside it. Output and exchange only, no mechanics."""
