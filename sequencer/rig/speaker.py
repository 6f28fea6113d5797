"""A speaker and its clips: which output makes which sound play. The files themselves are read elsewhere.

`clip growl "growl.wav"` may be said several times; each adds a `Clip` to `clips`. A clip with an output of
its own plays by that one, the others by the output of the speaker.
"""

from typing import Annotated, ClassVar

from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.base import AsIs, Many, Part, Pin, Verb, contradiction, item
from sequencer.rig.drive import Play, Silence


@frozen
class Clip:
    """A sound by its name within the speaker; `file` is relative to the show, `pin` None is the speaker's."""

    name: str
    file: str
    pin: PinName | None = None


class Speaker(Part):
    kind: ClassVar[str] = "speaker"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {pin:pin}",
        "clip {name:word} {file:text}",
        "clip {name:word} {file:text} on {pin:pin}",
    )
    many: ClassVar[dict[str, Many]] = {
        "clip {name:word} {file:text}": Many("clips", Clip),
        "clip {name:word} {file:text} on {pin:pin}": Many("clips", Clip),
    }
    verbs: ClassVar[tuple[Verb, ...]] = (
        Verb("plays {clip:#clip}", lambda speaker, values: (Play(speaker.name, values["clip"]),)),
        Verb("falls silent", lambda speaker, _: (Silence(speaker.name),)),
    )

    pin: Pin | None = None
    clips: tuple[Annotated[Clip, AsIs()], ...] = ()

    def check(self) -> None:
        seen: set[str] = set()
        for clip in self.clips:
            if clip.name in seen:
                raise contradiction("clips", f"two clips are called {clip.name}; give one another name")
            seen.add(clip.name)
            if not clip.file.strip():
                raise contradiction("clips", f"the clip {clip.name} names no file")
            if clip.pin is None and self.pin is None:
                raise contradiction("clips", f"nothing makes the clip {clip.name} play: put the speaker `on` "
                                             "an output, or the clip")

    def clip(self, name: str) -> Clip | None:
        """The clip of that exact name, or None."""
        return next((clip for clip in self.clips if clip.name == name), None)

    def pin_of(self, clip: Clip) -> PinName:
        """The output that makes a clip of this speaker play."""
        pin = clip.pin or self.pin
        assert pin is not None
        return pin

    def declared(self, what: str) -> tuple[str, ...]:
        return tuple(clip.name for clip in self.clips) if what == "clip" else ()

    def pins(self) -> tuple[tuple[str, PinName], ...]:
        own = tuple((item("clips", number), clip.pin) for number, clip in enumerate(self.clips) if clip.pin is not None)
        return (*super().pins(), *own)
