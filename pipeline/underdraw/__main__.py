"""`python -m underdraw`: the same as the command."""

from underdraw.command_line import main

main()
