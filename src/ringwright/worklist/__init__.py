"""What the shift should do first: findings and rooms made into tasks, in the order of a walk, and held to what follows.

Pure: plain findings and rooms in, plain tasks out.
"""
