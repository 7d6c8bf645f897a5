"""The page of fixed spots: when each has the light waited for."""
