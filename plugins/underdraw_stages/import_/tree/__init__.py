"""The walk through the artwork's elements: pages, viewports, layers, reuse; and what is left out on the way."""
