"""The plane cut into regions of one seen paint: faces between outlines, what shows on each, what joins."""
