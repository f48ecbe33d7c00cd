"""The parts around the balloon as pages: what may be typed for each, and the sheet that answers."""
