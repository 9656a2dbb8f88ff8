"""Forecasts, elevation and building outlines, as files and over HTTP."""
