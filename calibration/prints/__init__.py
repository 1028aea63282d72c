"""What is known of the printed card, and before a photo is looked at."""
