"""The result in words, as JSON, as a budget, and drawn."""
