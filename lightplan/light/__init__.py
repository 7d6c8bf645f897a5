"""How much light, from which side, falls on an animal.

`clear_sky` and `perez` are published models, `daylight` combines them for a sky and
a cover, `backlight` names the light by its direction. Imports no other package of
lightplan. Start with `daylight`.
"""
