"""The page of a trip: a sentence, a row for every drive, one drive's picture."""
