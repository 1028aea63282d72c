"""Practice cuts without sockets."""
