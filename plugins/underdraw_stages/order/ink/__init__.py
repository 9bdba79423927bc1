"""What one marker draws before it fades: which comes first, when it is swapped, which stroke is too long for it."""
