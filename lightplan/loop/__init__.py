"""On which side of the vehicle to sit.

`gpx` reads a recorded drive, `route` turns it or typed legs into a path, `loop`
works out the light on either side of it, `seats` chooses a side, `words` describe it.
Imports `stop`, `trip` and the packages above them. Start with `loop`.
"""
