"""The page Kit and places: a user's own entries, and the form that edits them."""
