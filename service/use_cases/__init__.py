"""What people and workers do with boards: one function each, plain values in, the outside world through `ports`."""
