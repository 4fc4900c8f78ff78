"""Template tags of the heaps."""
