"""The map: regions with the numbers of their colours, what is too narrow hatched, the palette; small or at 1:1."""
