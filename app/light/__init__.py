"""How bright it is."""
