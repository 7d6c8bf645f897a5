"""On which side of the vehicle to sit.

`gpx` reads a recorded drive, `route` turns it or typed legs into a path, `loop`
puts the light on either side of it, `seats` chooses a side, `words` say it.
Imports `stop`, `trip` and what stands before them. Start with `loop`.
"""
