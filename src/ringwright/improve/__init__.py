"""What would serve better than the setting as it runs: the speed through the doff, and the parts."""
