"""What shapes are painted with beyond a plain colour, and which colours show where they lie on one another."""
