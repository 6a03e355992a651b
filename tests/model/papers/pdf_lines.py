"""The straight lines of a PDF page in mm from its upper left corner, read back from the file with PDFium."""

from __future__ import annotations

import ctypes
import math

import pypdfium2.raw as pdfium
from pypdfium2 import PdfPage

Line = tuple[float, float, float, float]

MM = 25.4 / 72


def lines(page: PdfPage) -> list[Line]:
    """Every line segment that is drawn, in the coordinates of the page."""
    _, high = page.get_size()
    found: list[Line] = []
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        matrix = item.get_matrix()
        at: tuple[float, float] | None = None
        for number in range(pdfium.FPDFPath_CountSegments(item.raw)):
            segment = pdfium.FPDFPath_GetPathSegment(item.raw, number)
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            here = matrix.on_point(x.value, y.value)
            kind = pdfium.FPDFPathSegment_GetType(segment)
            if kind == pdfium.FPDF_SEGMENT_LINETO and at is not None:
                found.append((at[0] * MM, (high - at[1]) * MM, here[0] * MM, (high - here[1]) * MM))
            at = here
    return found


def length(line: Line) -> float:
    """Length of a line in mm."""
    return math.hypot(line[2] - line[0], line[3] - line[1])
