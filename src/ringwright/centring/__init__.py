"""Centring: ring, thread guide and control ring against the spindle, read along a frame and judged."""
