"""The command line: commands, console, files, and running a chain."""
