"""Points, sizes and boxes as plain numbers of millimetres, x right and y down."""

Size = tuple[float, float]  # (width, height) mm
Point = tuple[float, float]  # (x, y) mm
Box = tuple[float, float, float, float]  # (x0, y0, x1, y1) mm, x0 <= x1, y0 <= y1
