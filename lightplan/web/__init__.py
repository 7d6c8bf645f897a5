"""The page: a `TripPlan` drawn with Dash."""
