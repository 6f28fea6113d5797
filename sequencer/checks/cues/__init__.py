"""Checks of what happens when: cues against motions, valves, sounds and each other. See `sequencer.checks`."""
