"""A board's face: baseline, slopes, and where cuts stop."""
