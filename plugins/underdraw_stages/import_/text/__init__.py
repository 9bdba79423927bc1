"""Text drawn with a font file, letter by letter."""
