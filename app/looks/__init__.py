"""Looks, their margins, and the windows in which they hold."""
