"""What a camera needs for a given light, and what its picture takes in.

`exposure` turns lux into exposure values and ISO, `animals` holds sizes and speeds,
`shake` tells how many frames are sharp at a shutter time, `framing` tells angles of
view, `picture` and `focus` put the animal into the frame, `noise` says up to which
ISO it looks well. Imports no other package of lightplan. Start with `exposure`.
"""
