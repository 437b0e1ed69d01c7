"""Reports people ask for: each a table that sorts, a plot drawn from it, and the same rows as files."""
