"""One marker's lines to the fewest strokes: doubles once, gaps closed, ends paired."""
