"""Cue sheets for air-powered props: checked, dry-run and compiled to a board's step tables."""

__version__ = "0.1.0"
