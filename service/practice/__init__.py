"""The thinking of the practice log: boards in; statistics, sentences, dicts for charts, and pages for print out."""
