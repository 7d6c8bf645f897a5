"""Ways a `TripPlan` leaves the program as text; nothing here imports dash."""
