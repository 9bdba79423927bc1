"""What a studio swaps: controllers, holders, inks, canvas sizes."""
