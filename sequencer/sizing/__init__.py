"""One cylinder without a show: what its strokes do, over a range of one input, and which standard parts would do what
is wanted.

    given (what a builder says) -> strokes (both ways, reckoned) -> sweep (one input over a range)
    wanted -> size (standard bores, valves and tubes, each proved by reckoning its stroke)
"""
