"""What each drive of a trip holds for each rig.

`request` is the question, `drives` the gate hours in UTC, `minutes` the light and
the ISO by the minute, `plan` the answer (`TripPlan`), `compare` sets lenses and
drives against each other, `words` and `compare_words` say it. Imports `catalog`
and what stands before it. Start with `plan`.
"""
