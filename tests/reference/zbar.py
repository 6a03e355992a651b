"""A reader of QR codes through Debian's libzbar0, an implementation of its own beside zxing-cpp."""

from __future__ import annotations

import ctypes
import ctypes.util

from PIL import Image

NAME = ctypes.util.find_library("zbar")
_QRCODE = 64
_Y800 = int.from_bytes(b"Y800", "little")


def _library() -> ctypes.CDLL:
    library = ctypes.CDLL(NAME)
    pointers = (
        "zbar_image_scanner_create",
        "zbar_image_create",
        "zbar_image_first_symbol",
        "zbar_symbol_next",
    )
    for name in pointers:
        getattr(library, name).restype = ctypes.c_void_p
    library.zbar_symbol_get_data.restype = ctypes.c_char_p
    return library


def read(image: Image.Image) -> list[str]:
    """The texts of all QR codes in the image, sorted."""
    library = _library()
    grey = image.convert("L")
    data = grey.tobytes()
    scanner = ctypes.c_void_p(library.zbar_image_scanner_create())
    picture = ctypes.c_void_p(library.zbar_image_create())
    found: list[str] = []
    try:
        library.zbar_image_scanner_set_config(scanner, 0, 0, 0)
        library.zbar_image_scanner_set_config(scanner, _QRCODE, 0, 1)
        library.zbar_image_set_format(picture, ctypes.c_ulong(_Y800))
        library.zbar_image_set_size(picture, grey.width, grey.height)
        library.zbar_image_set_data(picture, data, ctypes.c_ulong(len(data)), None)
        library.zbar_scan_image(scanner, picture)
        symbol = library.zbar_image_first_symbol(picture)
        while symbol:
            found.append(library.zbar_symbol_get_data(ctypes.c_void_p(symbol)).decode())
            symbol = library.zbar_symbol_next(ctypes.c_void_p(symbol))
    finally:
        library.zbar_image_destroy(picture)
        library.zbar_image_scanner_destroy(scanner)
    return sorted(found)
