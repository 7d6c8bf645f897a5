"""The pages. A page shows what the core has worked out, and computes no light.

`app` builds the application from `pages`, one record per page; each has a package
(`trip`, `year`, `stop`, `spots`, `loop`, `frames`, `kit`, `take`), and `figures` holds
what their pictures share. Only this package knows Dash and Plotly. Start with `app`.
"""
