"""What a lamp's name tells of it, so that a person who types "Indicator front left" need not say it
thrice.
"""

from __future__ import annotations

import re
from typing import Any

from model.harness import Hand
from model.standards.functions import FUNCTIONS
from model.standards.leds import LED_COLOURS

_WORDS = {
    "indicator": "indicator", "blinker": "indicator", "turn": "indicator", "flasher": "indicator",
    "headlamp": "headlamp", "headlight": "headlamp", "dipped": "dipped beam", "beam": "main beam",
    "tail": "tail lamp", "rear light": "tail lamp", "brake": "brake lamp", "stop": "brake lamp",
    "reversing": "reversing lamp", "reverse": "reversing lamp", "rear fog": "rear fog lamp",
    "fog": "front fog lamp",
    "side lamp": "side lamp", "marker": "marker lamp", "plate": "number plate lamp", "beacon": "beacon",
    "plough": "plough lamp", "roof": "roof lamp", "work": "work lamp", "spreader": "work lamp",
    "cab light": "interior lamp", "interior": "interior lamp", "cabin": "interior lamp",
    "instrument": "instrument lamp",
    "masthead": "masthead light", "port side": "port sidelight", "starboard side": "starboard sidelight",
    "stern": "stern light", "towing": "towing light", "anchor": "anchor light", "deck": "deck light",
    "searchlight": "searchlight", "room": "room light", "street": "street lamp", "porch": "porch light",
    "signal": "signal",
}  # fmt: skip


def guess_fields(name: str) -> dict[str, Any]:
    """Function, colour and side as far as a lamp's name tells them; common practice, no source."""
    low = name.lower()
    fields: dict[str, Any] = {}
    known = [
        word for word in (*FUNCTIONS, *_WORDS) if re.search(rf"\b{re.escape(word)}", low) and word != "other"
    ]
    if known:
        word = max(known, key=len)
        function = FUNCTIONS[_WORDS.get(word, word)]
        fields["function"] = function.name
        fields["colour"] = function.usual_colour
    colours = [colour for colour in LED_COLOURS if re.search(rf"\b{re.escape(colour.lower())}\b", low)]
    if colours:
        fields["colour"] = max(colours, key=len)
    for hand, words in (
        (Hand.LEFT, ("left", "port", "nearside")),
        (Hand.RIGHT, ("right", "starboard", "offside")),
    ):
        if any(re.search(rf"\b{word}\b", low) for word in words):
            fields["hand"] = hand
    return fields
