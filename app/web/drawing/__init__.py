"""What templates draw, worked out as plain numbers."""
