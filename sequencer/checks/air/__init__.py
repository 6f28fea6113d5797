"""Checks of what the air does to a cylinder: whether it arrives, how hard, how fast, and what a power cut leaves."""
