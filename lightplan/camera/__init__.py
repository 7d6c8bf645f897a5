"""What a camera needs for a given light, and what its picture takes in.

`exposure` turns lux into exposure values and ISO, `shake` tells how many frames are
sharp at a shutter time, `animals` how fast and how large animals are, `framing` tells
angles of view. Imports no other package of lightplan. Start with `exposure`.
"""
