"""A shoot: its wishes, the running order that serves them best, standbys, and which date to take."""
