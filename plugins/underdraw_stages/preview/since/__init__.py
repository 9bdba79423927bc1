"""What changed since an older drawing of the same picture: lines matched by where they are, and settings."""
