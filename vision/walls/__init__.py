"""Saw cut walls: bands of the photo, a picture of them, and the lines that explain it."""
