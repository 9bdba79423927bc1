"""What a job says: its settings, its sections, its file, and the schema of it."""
