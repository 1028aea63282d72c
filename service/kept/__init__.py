"""What is kept in the data folder: prints, cameras, plans, rules."""
