"""How dark it really was: covers learned from a person's own frames.

`headers` and `containers` read exposures from image files, `read` a folder, `table` a
CSV file; `calibrate`, `zonecheck` and `learning` work out how much light a cover
takes; `groups` reads the settings of groups, `words` puts results into sentences.
Imports `trip` and the packages above it. Start with `learning`.
"""
