"""Where pyserial looks for the port behind `virtual://`: a module of this name with a class `Serial`."""

from sequencer.board.virtual import Serial

__all__ = ["Serial"]
