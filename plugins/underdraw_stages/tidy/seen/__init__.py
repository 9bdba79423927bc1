"""What the eye sees of artwork: its lines less all that lies hidden."""
