"""Where sun and moon stand, when they cross a line, and how local time runs.

`sun` and `moon` give positions, `windows` and `sun_days` the moments when an
altitude is crossed, `skyline` the height of the land, `localtime` the clocks of
a place. Imports no other package of lightplan. Start with `sun`.
"""
