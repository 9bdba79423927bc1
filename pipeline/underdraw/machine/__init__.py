"""What the machine does with a drawing: heights, travel, loads, and the clock."""
