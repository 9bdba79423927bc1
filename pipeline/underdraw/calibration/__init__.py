"""Readings typed in from a card become lines of a job, with how sure each is."""
