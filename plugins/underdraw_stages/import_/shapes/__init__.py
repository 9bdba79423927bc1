"""The shapes that elements draw, what they take over from those around them, and their polylines in millimetres."""
