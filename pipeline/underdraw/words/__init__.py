"""Words and numbers as people read and write them: lengths, units, quantities."""
