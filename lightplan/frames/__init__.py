"""How dark it really was: covers learned from a person's own frames.

`headers` and `containers` read exposures out of picture files, `read` a folder,
`table` a CSV file; `calibrate`, `zonecheck` and `learning` work out what a cover
takes, `groups` and `words` say it. Imports `trip` and what stands before it. Start
with `learning`.
"""
