"""What the pages ask for: a setting as tried, one place of its doff answered quickly, and the whole doff after it."""
