"""The page of a person's own places and kit, and the form that edits them."""
