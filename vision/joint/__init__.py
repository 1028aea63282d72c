"""What the pins would do: settling, squeeze, splitting, verdict."""
