"""Where the sun and the moon stand, as seen from one place."""
