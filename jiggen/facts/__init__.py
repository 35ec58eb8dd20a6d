"""Numbers that the trade looks up in tables, each with where it was found."""
