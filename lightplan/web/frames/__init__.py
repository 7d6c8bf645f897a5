"""The page Your frames: how many stops a cover really takes."""
