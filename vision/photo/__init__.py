"""From a file to linear light, the card in it, and how sharp it is."""
