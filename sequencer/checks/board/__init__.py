"""Checks of the program against the board that is to hold it. See `sequencer.checks`."""
