"""What a camera takes in, and where on its sensor a direction falls."""
