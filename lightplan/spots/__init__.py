"""When a fixed place, such as a hide, is lit as one wants.

`spots` is a year by the minute, `chances` the minutes that meet a wish, `words`
say them. Imports `trip` and what stands before it. Start with `spots`.
"""
