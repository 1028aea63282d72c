"""Several measurements made one."""
