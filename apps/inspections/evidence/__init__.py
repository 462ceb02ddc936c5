"""Photos and documents: told by their content, freed of metadata, kept under their digest."""
