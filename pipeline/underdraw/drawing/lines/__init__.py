"""Many lines at once: their points in one array, and stretches of them on one axis."""
