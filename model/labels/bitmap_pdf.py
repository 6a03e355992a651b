"""Writes a PDF whose pages are one bit a dot pictures at an exact size, losslessly, page after page.

Smaller than what a general PDF library needs: nothing is re-encoded, only the inked part of a page is
kept, and one page at a time is in memory. The same pages give the same bytes. PDF 1.4 (ISO 32000-1).
"""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING, BinaryIO

import attrs

if TYPE_CHECKING:
    from PIL import Image

POINTS_PER_MM = 72 / 25.4
LEVEL = 2  # of zlib: a third larger than 6, in an eighth of the time


@attrs.frozen(kw_only=True)
class BitmapPage:
    """A page and its picture of mode "1" (0 is black), whose upper left corner is the page's.

    `turned` has the page shown and printed a quarter turn clockwise.
    """

    width_mm: float
    height_mm: float
    dot_x_mm: float
    dot_y_mm: float
    image: Image.Image
    turned: bool = False


class PdfFile:
    """A PDF being written. `add` pages, then `close`; the file itself stays open."""

    def __init__(self, file: BinaryIO, title: str = "") -> None:
        self._file = file
        self._title = title
        self._offsets: dict[int, int] = {}
        self._pages: list[int] = []
        self._next = 4  # 1 catalogue, 2 page tree, 3 information
        self._at = 0
        self._write(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")

    def add(self, page: BitmapPage) -> None:
        """Writes one page."""
        from PIL import ImageChops

        number = self._next
        self._next += 3
        width, height = page.width_mm * POINTS_PER_MM, page.height_mm * POINTS_PER_MM
        inked = ImageChops.invert(page.image).getbbox()
        content = b""
        if inked is not None:
            left, upper, right, lower = inked
            across, down = page.dot_x_mm * POINTS_PER_MM, page.dot_y_mm * POINTS_PER_MM
            content = (
                f"{(right - left) * across:.5f} 0 0 {(lower - upper) * down:.5f} "
                f"{left * across:.5f} {height - lower * down:.5f} cm /I Do"
            ).encode()
            part = page.image.crop(inked)
            self._object(
                number + 2,
                f"/Type /XObject /Subtype /Image /Width {part.width} /Height {part.height} "
                "/ColorSpace /DeviceGray /BitsPerComponent 1 /Filter /FlateDecode",
                zlib.compress(part.tobytes(), LEVEL),
            )
        resources = f"<< /XObject << /I {number + 2} 0 R >> >>" if inked is not None else "<< >>"
        self._object(number + 1, "", content)
        self._object(
            number,
            f"/Type /Page /Parent 2 0 R /MediaBox [0 0 {width:.4f} {height:.4f}] "
            f"/Resources {resources} /Contents {number + 1} 0 R{' /Rotate 90' if page.turned else ''}",
        )
        self._pages.append(number)

    def close(self) -> None:
        """Writes what belongs at the end. No page can be added after it."""
        kids = " ".join(f"{page} 0 R" for page in self._pages)
        # none: the print dialogue is asked not to scale
        self._object(1, "/Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >>")
        self._object(2, f"/Type /Pages /Kids [{kids}] /Count {len(self._pages)}")
        title = f"\ufeff{self._title}".encode("utf-16-be", "replace").hex()
        self._object(3, f"/Title <{title}>" if self._title else "")
        start = self._at
        count = self._next
        self._write(f"xref\n0 {count}\n0000000000 65535 f \n".encode())
        for number in range(1, count):
            offset = self._offsets.get(number)
            self._write((f"{offset:010d} 00000 n \n" if offset else "0000000000 65535 f \n").encode())
        self._write(
            f"trailer\n<< /Size {count} /Root 1 0 R /Info 3 0 R >>\nstartxref\n{start}\n%%EOF\n".encode()
        )

    def _object(self, number: int, entries: str, stream: bytes | None = None) -> None:
        self._offsets[number] = self._at
        if stream is None:
            self._write(f"{number} 0 obj\n<< {entries} >>\nendobj\n".encode())
            return
        self._write(f"{number} 0 obj\n<< {entries} /Length {len(stream)} >>\nstream\n".encode())
        self._write(stream)
        self._write(b"\nendstream\nendobj\n")

    def _write(self, data: bytes) -> None:
        self._file.write(data)
        self._at += len(data)
