"""How the card lies against the end."""
