"""The page of where to stop: the drawing from above, and its numbers."""
