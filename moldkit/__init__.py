"""Compare rubber-mold techniques by rubber, hours, mold life and cost over a production run."""

__version__ = "0.1.0"
