"""The pages. A page shows what the core has worked out, and computes no light.

`app` builds the application; `choices` is what a person can choose, `figures` what
pictures share; each page has a package of its own (`trip`, `year`, `stop`, `spots`,
`loop`, `frames`, `kit`, `take`). Only this package knows Dash and Plotly. Start
with `app`.
"""
