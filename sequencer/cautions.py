"""The cautions: one paragraph each, shown where it matters and nowhere else.

Turns a caution's name into its words. Where and how it is shown is the business of the command or the page
that needs it. The tool gives advice; it is no safety device and no caution says otherwise.
"""

from __future__ import annotations

from sequencer.frozen import frozen


@frozen
class Caution:
    """One caution: its name, the moment it belongs to, and its words."""

    id: str
    when: str
    text: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        id="arm",
        when="before arming",
        text=(
            "Look first. You are about to let sensors fire this prop with nobody at the keyboard. Walk "
            "the path, see that the zone is clear and the stop button works, then arm. Your local codes "
            "and officials decide what is allowed."
        ),
    ),
    Caution(
        id="arm.public",
        when="before arming with guests",
        text=(
            "This check is arithmetic on what you typed; it has not seen your prop. It cannot make a prop "
            "safe for guests. Have a competent person inspect it, and follow the rules of your local "
            "authority."
        ),
    ),
    Caution(
        id="flash",
        when="before flashing",
        text=(
            "Close the air valve, bleed the lines and read zero before you load a new show. Valves may "
            "twitch when the board restarts. If anyone else works here, lock the valve and keep the key, "
            "as your workplace rules require."
        ),
    ),
    Caution(
        id="bench",
        when="before bench-firing an output",
        text=(
            "This will move air for real, now. Keep hands, hair and faces out of the path, wear eye "
            "protection, start at low pressure, and hold the button only while you watch. If you are not "
            "sure of the wiring, stop and ask a qualified person."
        ),
    ),
    Caution(
        id="service",
        when="printed sheet: hands inside",
        text=(
            "Switching off is not the same as safe. Shut and lock the air, bleed every trapped line, "
            "unplug the power, try the trigger, and only then reach in. Where people are employed, the "
            "lock-out rules that apply to you come first."
        ),
    ),
    Caution(
        id="reach",
        when="force, energy or gap over limit",
        text=(
            "Someone could be hit or pinched here. Move the prop out of reach or fence it before you rely "
            "on a lower pressure. The figures come from machine rules for adults, so give children more "
            "room and let your local inspector judge."
        ),
    ),
    Caution(
        id="stop",
        when="no hardware stop declared",
        text=(
            "A key on a laptop is not an emergency stop. Fit a latching red button that cuts valve power "
            "and vents the air with no software in between, and have its wiring checked by someone "
            "licensed where your codes ask for it."
        ),
    ),
    Caution(
        id="alarm",
        when="indoor walk-through, no alarm input",
        text=(
            "If the fire alarm sounds, guests must hear it and see the way out. Give the show one input "
            "that stops every prop, mutes sound, kills fog and strobes and brings up lights. Ask your "
            "fire official how to connect it; leave the alarm panel to a licensed firm."
        ),
    ),
    Caution(
        id="strobe",
        when="flash limit passed",
        text=(
            "Fast flashing can bring on a seizure, most often in young people. Keep to three flashes a "
            "second or fewer, avoid red, keep bursts short, and put a sign where guests can still turn "
            "back. Check what your venue licence or local code says."
        ),
    ),
    Caution(
        id="power",
        when="outdoor, wet or fog",
        text=(
            "Water, fog and mains do not mix. Use a tested ground-fault outlet, a splash-proof box and "
            "drip loops, and fuse each low-voltage run. Have a licensed electrician do anything fixed to "
            "the building, to local code."
        ),
    ),
    Caution(
        id="tank",
        when="receiver or PVC declared",
        text=(
            "Compressed air is stored energy. Use only stamped tanks and tube or pipe rated for air, "
            "never PVC, with a relief valve that nothing can block. If a tank is rusty, dented or "
            "unmarked, retire it; local boiler and pressure rules may apply."
        ),
    ),
    Caution(
        id="open",
        when="printed sheet: opening night",
        text=(
            "Before you let people in: listen for leaks, read the gauge, press the stop, press the "
            "ground-fault test, run one cycle, check the exit path, and sign this sheet. If anything is "
            "different from yesterday, do not open until it is explained. Your permit conditions outrank "
            "this list."
        ),
    ),
)


def caution(name: str) -> Caution:
    """The caution of that name; raises KeyError for a name there is none for, so that none is left out."""
    found = next((one for one in CAUTIONS if one.id == name), None)
    if found is None:
        raise KeyError(f"no caution is named {name!r}")
    return found
