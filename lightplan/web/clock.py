"""The current time, in one place so that tests can replace it."""

import datetime as dt


def now() -> dt.datetime:
    """Return the current time in UTC."""
    return dt.datetime.now(dt.UTC)
