"""What the artwork's file holds, as written: its XML tree, lengths and transforms; and how much it may ask for."""
