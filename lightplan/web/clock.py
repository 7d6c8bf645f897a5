"""The present moment, in a place of its own so that tests can put another there."""

import datetime as dt


def now() -> dt.datetime:
    """Return the present moment in UTC."""
    return dt.datetime.now(dt.UTC)
