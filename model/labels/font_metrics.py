"""Metrics of the label font, so that a layout is worked out without loading it.

Measured in em from Roboto Mono 3.1 (OFL-1.1), weight 500, as `fontpkg-roboto-mono` ships it: zero is
slashed by default, the ohm sign is there, and the stroke is one sixth of the cap height, as
DOD-HDBK-791 (1988) asks for dark on light.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from types import MappingProxyType

FAMILY = "Roboto Mono"
WEIGHT = 500
CAP_EM = 1456 / 2048
ADVANCE_EM = 1229 / 2048

ADVANCE = ADVANCE_EM / CAP_EM
"""Width of every character, in cap heights."""

OVERSHOOT = 0.03
"""How far round letters pass the cap height or the base line, and wide ones their cell, in cap heights."""

_GLYPHS: Mapping[tuple[float, float], str] = {
    (0.711, 0.0): (
        " !#%&*+-.0123456789:<=>?@ABCDEFGHIJKLMNOPRSTUVWXYZ^`acemnorstuvwxz~£¤¥¨©ª«¬®¯°±²"
        "³´¶·¹º»¼½¾ÆÐ×Þæìí÷ùúāĐēĦīıĲĸĽĿŁōŒœŦŧūźơəˉ˘˚ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαεθικνοπστυχω"
        "ϑϒϖЂЄЅІЈЉЊЋАБВГЕЖЗИКЛМНОПРСТУФХЧШЪЫЬЭЮЯавгежзиклмнопстхчшъыьэюяєѕљњѠѡѢѤѥѦѧѨѩѪѫѬѭ"
        "ѰѲѳѴѵѿ҂ҌҍҎґҒғҜҝҞҠҡҤҥҨҩҮҰҸҹҺҼҽӀӏӔӕӘәӠӣӨөӾӿԀԂԄԅԈԉԊԋԌԍԎԏԐԑẁẃ–—―†•‥…‰‹›‼⁄⁴ⁿ₣₤₧€℅ℓ№™℮"
        "⅛⅜⅝⅞∆−√∞≈≠≤≥"
    ),
    (0.711, 0.1): ("/\\_øѻ∏∕"),
    (0.711, 0.23): (
        ",;Qgpqy|¡¢¦§µ¸¿ÇçýĄąĘęĢĮĳĶĻŅņŊŋŖŗŞşŢţŲųȘșȚțȷ˛˳βγζημξρςφψЏДЦЩдруцщџѱѸѹҀҁҏҔҕҗҘҙҚқҢ"
        "ңҦҧҪҫҬҭүұҲҳҴҵҶҷҾҿӃӄӅӆӇӈӉӊӋӌӎӡӯӶӷӺӻӽԆԇḀḁẠạẸẹỊỌọợỤụỳỴỵ‗‚„‡∑"
    ),
    (0.755, 0.0): (
        "\"'bdhiklßàáâãäèéêëîïðñòóôõöûüăćĉċčđĕėěħĩĭľŀłńňŏőŕřśŝšũŭűŵżžƠǽʼˆˇ˙˜˝δλϊϋбйѐёѓіїћќ"
        "ѝѣѽҟһӂӑӓӗӛӝӟӥӧӫӭӵӹԁԃḿẅẽớờỡ‘’‛“”′″∂"
    ),
    (0.755, 0.1): ("Øǿ"),
    (0.755, 0.23): ("jþÿĝğġįĵķļŷǰфђјўѯҋӱӳậặệịộỢỹ₫"),
    (0.85, 0.0): ("fåťůſ΄΅ΆΏΐάέίΰόύώѷӢảấầẩắằẵẻếềểỉỏốồổởủ"),
    (0.85, 0.1): ("$Ѻ"),
    (0.85, 0.23): ("()[]{}ģƒήỷ∫"),
    (0.98, 0.0): (
        "ÀÁÂÃÄÅÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜÝĀĂĆĈĊČĎĒĔĖĚĜĞĠĤĨĪĬİĴĹĺŃŇŌŎŐŔŘŚŜŠŤŨŪŬŮŰŴŶŸŹŻŽǻǼΪΫЀЁЃЇЌЍЎ"
        "ЙѶѼѾҐӁӐӒӖӚӜӞӤӦӪӬӮӰӲӴӸḾẀẂẄẢẤẦẫẮẳẺẼẾỀỂễỈỎỒỗỚỜỞỠỦỲỶỸ"
    ),
    (0.98, 0.1): ("Ǿ"),
    (0.98, 0.23): ("ѮҊẬẶỆỘ"),
    (1.06, 0.0): ("ǺẨẪẰẲẴỄỐỔỖ"),
}
"""(height over the base line, depth under it) in em: the characters that need no more than that."""

EXTENTS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        sign: (max(1.0, top / CAP_EM - 0.001), depth / CAP_EM)
        for (top, depth), signs in _GLYPHS.items()
        for sign in signs
    }
)
"""For each character the font can draw: height over and depth under the base line, in cap heights."""

_STAND_INS: Mapping[str, str] = MappingProxyType(
    {
        "\N{OHM SIGN}": "\N{GREEK CAPITAL LETTER OMEGA}",
        "\N{RIGHTWARDS ARROW}": ">",
        "\N{LEFTWARDS ARROW}": "<",
        "\N{LEFT RIGHT ARROW}": "<>",
        "\N{HORIZONTAL ELLIPSIS}": "...",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{HYPHEN}": "-",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{SUPERSCRIPT TWO}": "2",
        "\N{SUPERSCRIPT THREE}": "3",
    }
)
"""What is drawn instead of a character, where the meaning stays the same."""


def drawable(text: str) -> tuple[str, tuple[str, ...]]:
    """`text` as it can be drawn, and the characters left out of it because the font lacks them.

    Composed accents are used where there are any (Unicode NFC), and a few signs have stand-ins. A letter
    whose accent the font lacks is drawn without it, and reported too. A run of blanks becomes one.
    """
    kept: list[str] = []
    lacking: list[str] = []
    for sign in unicodedata.normalize("NFC", text):
        stand_in = _STAND_INS.get(sign, sign)
        if all(part in EXTENTS for part in stand_in):
            kept.append(stand_in)
            continue
        base = unicodedata.normalize("NFD", sign)[0]
        if base in EXTENTS:
            kept.append(base)
        if sign not in lacking:
            lacking.append(sign)
    return " ".join("".join(kept).split()), tuple(lacking)


def name_of(sign: str) -> str:
    """A character's Unicode name, or its number, for a message that can't show it."""
    return unicodedata.name(sign, f"U+{ord(sign):04X}").lower()


def width(text: str) -> float:
    """Width of a drawable text in cap heights."""
    return len(text) * ADVANCE


def extents(text: str) -> tuple[float, float]:
    """Height over and depth under the base line of a drawable text, in cap heights; at least (1, 0)."""
    parts = [EXTENTS[sign] for sign in text]
    return max([1.0, *(top for top, _ in parts)]), max([0.0, *(depth for _, depth in parts)])
