"""The pages. A page shows what the core has worked out, and computes no light.

`app` builds the application from `pages`, one record a page; each has a package
(`trip`, `year`, `stop`, `spots`, `loop`, `frames`, `kit`, `take`), and `figures` is
what their pictures share. Only this package knows Dash and Plotly. Start with `app`.
"""
