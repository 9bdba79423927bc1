"""Loops that run as they stand for small jobs and compiled for large ones."""
