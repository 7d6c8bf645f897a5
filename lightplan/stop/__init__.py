"""Where to stop, and which way to look.

`rim` finds when a backlit edge glows, `stop` reads one minute from one aim,
`answer` and `words` say it. Imports `trip` and what stands before it. Start with
`rim`.
"""
