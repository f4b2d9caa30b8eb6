"""What the server shows and says besides its API."""
