"""Trade units: the only place where they exist."""
