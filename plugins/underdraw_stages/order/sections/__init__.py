"""A board longer than the bed: which section draws a stroke, and where strokes are cut that none reaches whole."""
