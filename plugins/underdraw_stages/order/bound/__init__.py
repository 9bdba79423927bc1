"""A length that no order's travel can go below."""
