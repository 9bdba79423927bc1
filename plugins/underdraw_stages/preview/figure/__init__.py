"""What views are made of: ink, surfaces, numbers, the plan of the bed, and the legend."""
