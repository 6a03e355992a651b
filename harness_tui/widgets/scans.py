"""What a scanner sends, told from what a hand types."""

from __future__ import annotations

import re

from model.harness import Harness
from model.tags import is_valid

_CODE = re.compile(r"[A-Z0-9]{2,3}-[A-Z0-9][A-Z0-9.+/-]{0,11}(-[LC])?")
"""PROJECT-TAG-END of a wire, PROJECT-NAME of anything else that has a label."""


def is_label_text(harness: Harness, text: str) -> bool:
    """Whether `text` is the code of a label of any project, or a tag; capitals may have become small ones."""
    text = text.upper()
    return bool(_CODE.fullmatch(text)) or is_valid(text) or harness.ledger.find(text) is not None
