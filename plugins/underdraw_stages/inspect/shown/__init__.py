"""The picture: the flat view with its spots ringed and numbered, and close-ups of the worst."""
