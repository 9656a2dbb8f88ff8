"""Every layout the database ever had; ``app.storage.migrate`` walks through them."""
