"""Results held against limits."""
