"""The built-in stages: a package each, named as its command is."""
