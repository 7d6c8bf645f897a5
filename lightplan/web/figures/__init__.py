"""What pictures of several pages share: sheet, colours, the days of a year, labels."""
