"""From a case file to a mesh: case, layup, section, mesh."""
