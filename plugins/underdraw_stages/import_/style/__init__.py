"""How an element looks: style sheets, the cascade, colours and gradients, strokes."""
