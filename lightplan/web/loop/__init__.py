"""The page of the loop: the route, and the light on either side."""
