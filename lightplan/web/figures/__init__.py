"""What pictures of several pages share: layout, colours, the days of a year, labels."""
