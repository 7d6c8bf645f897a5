"""The present moment, in one place so that tests can replace it."""

import datetime as dt


def now() -> dt.datetime:
    """Return the present moment in UTC."""
    return dt.datetime.now(dt.UTC)
