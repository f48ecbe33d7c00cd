"""One frame and yarn as set: from the mill on paper to the inputs of the physics."""
