"""Where the board's end lies, and everything measured of it."""
