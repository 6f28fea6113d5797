"""Checks of the rig by itself: parts, pins, sounds. See `sequencer.checks`."""
