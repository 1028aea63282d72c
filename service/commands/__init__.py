"""The command line's commands."""
