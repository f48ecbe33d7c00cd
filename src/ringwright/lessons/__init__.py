"""Lessons: one question each, one part to move, and what the solver answers."""
