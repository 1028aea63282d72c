"""What was meant, and what the trade thinks of it."""
