"""Where to stop, and which way to look.

`rim` finds when a backlit edge glows, `stop` works out one minute for one aim,
`answer` and `words` put it into sentences. Imports `trip` and the packages above it.
Start with `rim`.
"""
