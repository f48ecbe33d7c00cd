"""Documents made from results: figures, the card, tables."""
