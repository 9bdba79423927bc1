"""A page of SVG in millimetres: text that fits, names with leaders, a figure at its scale, the canvas and its ink."""
