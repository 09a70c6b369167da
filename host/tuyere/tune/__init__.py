"""What a cooker's own answer to its fan says of the settings."""
