"""Studies: many points of one case, what they say together, and the page that shows it."""
