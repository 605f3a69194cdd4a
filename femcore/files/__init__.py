"""Frame files, section files, and the run of a frame file."""
