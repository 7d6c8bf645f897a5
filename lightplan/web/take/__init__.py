"""Files to take along, and the pocket plan as a page."""
