"""Frames, link, store, ports, the virtual board and the profiles. The one door to pyserial.

Nothing is imported here: `sequencer.board.profiles` must stay importable without a serial library.
"""
