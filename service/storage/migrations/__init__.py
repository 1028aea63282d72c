"""How the tables came to be what they are: one step after the other."""
