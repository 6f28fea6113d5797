"""The checked show -> when everything happens -> the board's step tables."""
