"""End and faces of one board together."""
