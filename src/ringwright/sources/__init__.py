"""Where numbers come from: the bibliography and cited numbers."""
