"""Outlines as curves, as polylines, and as dashes."""
