"""The printed sheet: a page as areas and texts, what stands where, and its file formats."""
