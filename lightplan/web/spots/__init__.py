"""The page of fixed spots: when each is lit as wanted."""
