"""The mill on paper: frames, yarns, rovings, travellers, settings and limits."""
