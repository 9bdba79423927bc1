"""Curves found again in polylines, as arcs and lines that a program can have."""
