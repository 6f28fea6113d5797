"""A sensor on an input pin: which level means tripped, how long it must hold, and what the input is for.

`high` and `low` are the level at the pin while tripped; there is no default, since with the
wrong one a torn wire looks like quiet. `sees ram out` makes it an end-of-travel sensor. How it is debounced
is the board's.
"""

from typing import ClassVar, Literal

from sequencer.rig.base import Part, Pin, between, contradiction
from sequencer.units import read_quantity


class Sensor(Part):
    kind: ClassVar[str] = "sensor"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {pin:pin}",
        "{tripped:low|high} when tripped",
        "settles in {settle:time}",
        "ready after {warm_up:time}",
        "kind {role:stop|trigger|alarm}",
        "sees {sees:@cylinder} {end:home|out}",
    )

    pin: Pin
    tripped: Literal["low", "high"]
    # Contacts bounce for some milliseconds; 20 ms is common practice, no source. Longer delays every scare.
    settle: between("0 ms", "2 s") = read_quantity("20 ms")
    warm_up: between("0 s", "10 min") = read_quantity("0 s")
    role: Literal["stop", "trigger", "alarm"] = "trigger"
    sees: str | None = None
    end: Literal["home", "out"] | None = None

    def check(self) -> None:
        if self.sees is not None and self.role != "trigger":
            raise contradiction("role", f"an input of kind {self.role} cannot also see the end of a travel; "
                                        "give the end of travel its own sensor")
        if self.role != "trigger" and self.warm_up.si > 0:
            raise contradiction("warm_up", f"an input of kind {self.role} counts from the first moment, so "
                                           f"it cannot be ready only after {self.warm_up}")

    @property
    def is_end_of_travel(self) -> bool:
        return self.sees is not None
