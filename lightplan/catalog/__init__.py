"""Which places, gates, covers and kit a person has, read from a TOML file.

`places` reads and checks the file, `gates`, `kit` and `covers` are its parts,
`toml` writes it, `merge` joins two that were edited apart. Imports `sky`, `light`
and `camera`. Start with `places`.
"""
