"""The views: flat as it lies, folded as it hangs, and drawn in motion."""
