"""What pays: energy, cost, breaks, comparison, the best speed and better parts, as pages ask for them."""
