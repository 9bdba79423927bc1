"""What a drawing is: shapes in ragged arrays, on the wire, trimmed."""
