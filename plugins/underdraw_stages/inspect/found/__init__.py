"""What will not read, found: spots of lines that merge, regions that close, and details finer than the tip."""
