"""When a fixed place, such as a hide, has the light a photographer waits for.

`spots` is a year by the minute, `chances` the minutes with that light, `words`
describe them. Imports `trip` and the packages above it. Start with `spots`.
"""
