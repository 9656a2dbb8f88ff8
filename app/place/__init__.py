"""Places: typed coordinates, local metres, bearings, time zones, site files and skylines."""
