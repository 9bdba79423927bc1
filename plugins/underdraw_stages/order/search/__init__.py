"""The search for the order of strokes that takes least time."""
