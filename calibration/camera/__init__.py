"""A phone's camera, learned from photos of the card."""
