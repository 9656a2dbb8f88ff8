"""What lands where in the frame: the sun, the people, the skyline."""
