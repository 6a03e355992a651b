"""What has to be said before somebody solders: shown at the first start and printed with the papers.

On batteries, soldering and hot air: general guidance of safety authorities and makers of packs, from memory.
"""

from __future__ import annotations

import attrs


@attrs.frozen(kw_only=True)
class Caution:
    """One caution: its catchword and what to do."""

    about: str
    words: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        about="battery",
        words="Disconnect it before you touch the wiring; check the polarity before it goes back on.",
    ),
    Caution(
        about="fuse",
        words="Put one in the battery's positive lead, close to the battery: a pack gives tens of amps.",
    ),
    Caution(
        about="lithium",
        words="Never short a pack, never charge it unattended; a swollen or damaged one is done with.",
    ),
    Caution(
        about="soldering",
        words=(
            "Air the room and keep out of the fumes; keep the hot iron away from cells. "
            "Leaded solder: wash your hands after it, no food near it."
        ),
    ),
    Caution(
        about="hot air",
        words="It softens plastic long before a sleeve shrinks: shield the model, mind your fingers.",
    ),
    Caution(
        about="bright LEDs",
        words="Do not look into them. Test an LED only with its resistor, never straight on a battery.",
    ),
    Caution(
        about="voltage",
        words="Extra-low voltage d.c. only. Mains belongs to licensed people and local codes.",
    ),
    Caution(about="controller", words="Its maker's instructions and limits come before this program."),
    Caution(
        about="scale models",
        words="For these only: not for the lights of real vehicles or vessels, nor for navigation.",
    ),
)
"""All of them, the gravest first."""
