"""A plan as a file to take along; `files` lists them all.

Each writer takes a `TripPlan` and returns bytes, without a clock. Imports `trip`
and what stands before it. Start with `files`.
"""
