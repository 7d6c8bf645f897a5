"""The page of a year: the weeks, and the light by date and hour."""
