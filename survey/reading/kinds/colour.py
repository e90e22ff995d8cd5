"""How true the colours of the photographs are, by a colour target in the picture."""
