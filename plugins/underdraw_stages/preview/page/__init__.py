"""A page of SVG: text that fits, names with leaders, and where a figure goes on it at which scale."""
