"""How well one colour is read on another (Web Content Accessibility Guidelines 2.1, relative luminance)."""

from __future__ import annotations

Rgb = tuple[int, int, int]

AA = 4.5
"""The least contrast of text of ordinary size (WCAG 2.1, 1.4.3)."""


def luminance(rgb: Rgb) -> float:
    """Relative luminance of an sRGB colour, 0 to 1."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (one / 255 for one in rgb)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Rgb, other: Rgb) -> float:
    """Contrast of two colours, 1 to 21."""
    light, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (low + 0.05)


def dark(rgb: Rgb) -> bool:
    """Whether white is read better on a colour than black."""
    return contrast(rgb, (255, 255, 255)) > contrast(rgb, (0, 0, 0))
