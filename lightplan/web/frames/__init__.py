"""The page of a person's own frames: what a cover really takes."""
