"""Light for wildlife photographers: when each lens runs out of it, and why."""

__version__ = "0.1.0"
