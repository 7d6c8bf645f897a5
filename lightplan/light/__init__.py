"""How much light, of what colour, from which side, falls on an animal.

`spectrum` and `air` give the beam and the sky of a cloudless day, `low_sky` the sides
of a low sun's sky and of twilight, `perez` those of a high one, `clear_sky` the level
of twilight and moonlight; `daylight` combines them for a sky and a cover.
`chromaticity` and `colour` say how warm the light is, `backlight` names it by its
direction. Imports no other package of lightplan. Start with `daylight`.
"""
