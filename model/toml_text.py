"""TOML that a person may have damaged: parsed without hanging, its values put into words at any size."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from model.values import shown

LARGEST_NUMBER = 10**12
"""No number of a file is larger; Python refuses to write out one of thousands of digits."""

# Possessive, and from the start of a word only: a long word is not looked at again from each of its letters.
_DOTTED = re.compile(r"""(?<![\w\-])(?:(?:[\w\-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){200}""")

TOO_DEEP = "is nested too deep"
TOO_LONG = "holds a number too long to read"


class Unfit(ValueError):
    """A text that is not parsed at all; says why in words."""


def tables(text: str) -> dict[str, Any]:
    """The tables of a TOML text. Raises tomllib.TOMLDecodeError, which names the line, or Unfit."""
    # The parser takes a time that grows with the square of the dots in a key; no text here may have so many.
    if _DOTTED.search(text):
        raise Unfit("has keys nested too deep")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise Unfit(TOO_DEEP) from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:
        raise Unfit(TOO_LONG) from None


def said(value: Any) -> str:
    """A value in a message, at any size."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) > LARGEST_NUMBER:
        return "a number of many digits"
    return shown(repr(value) if isinstance(value, str) else str(value))
