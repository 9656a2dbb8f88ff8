"""The database: sites, chosen frames, grounds and settings, with their backups."""
