"""A change to the mill's files: made, shown, checked with the whole mill, and written so that nobody's work is lost."""
