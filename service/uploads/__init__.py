"""A stranger's bytes made fit to be stored: their kind told, their size limited, what is private taken out."""
