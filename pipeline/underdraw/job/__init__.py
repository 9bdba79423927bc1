"""The job: its settings, its sections, its file, and its schema."""
