"""Which places, gates, covers and kit a person has, read from a TOML file.

`places` finds, reads and checks the file, `gates`, `kit` and `covers` are its parts,
`toml` writes it, `merge` merges two that were edited separately; `positions` says
how exactly a position may be shared. Imports `sky`, `light` and `camera`. Start with
`places`.
"""
