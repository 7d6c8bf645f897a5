"""What a camera needs for a given light, and what its picture takes in.

`exposure` turns lux into exposure values and ISO, `framing` tells angles of
view, `animals` holds sizes and speeds. Imports no other package of lightplan. Start with `exposure`.
"""
