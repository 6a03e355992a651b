"""What a label says, apart from how it is laid out."""

from __future__ import annotations

import re
from typing import Any, Literal

import attrs

from model.errors import BadValue
from model.values import in_range, one_of, shown

Kind = Literal["wire", "joint", "plug", "spool", "card"]
End = Literal["L", "C", ""]
Polarity = Literal["+", "-", ""]
GoesTo = Literal["joint", "plug", ""]

KINDS: tuple[Kind, ...] = ("wire", "joint", "plug", "spool", "card")
LINES_MAX = 24
WORDING_MAX = 120
TAG_MAX = 12

_PROJECT = re.compile(r"[A-Z0-9]{0,3}")
_COLOUR = re.compile(r"[A-Z]{0,8}")
_TAG = re.compile(rf"[A-Z0-9][A-Z0-9./+-]{{0,{TAG_MAX - 1}}}")


def _project_fits(instance: Any, attribute: Any, value: Any) -> None:
    if not isinstance(value, str) or not _PROJECT.fullmatch(value):
        raise BadValue("label: project", shown(repr(value)), limit="at most three of A to Z and 0 to 9")


def _tag_fits(instance: Any, attribute: Any, value: Any) -> None:
    if not isinstance(value, str) or not _TAG.fullmatch(value):
        raise BadValue(
            "label: tag",
            shown(repr(value)),
            limit=f"1 to {TAG_MAX} of A to Z, 0 to 9 and . / + -, the first a letter or digit",
        )


def _colour_fits(instance: Any, attribute: Any, value: Any) -> None:
    if not isinstance(value, str) or not _COLOUR.fullmatch(value):
        raise BadValue(f"label {instance.tag}: colour", shown(repr(value)), limit="capitals, as RD, or none")


def _lines_fit(instance: Any, attribute: Any, value: Any) -> None:
    subject = f"label {instance.tag}: lines"
    if not isinstance(value, tuple) or len(value) > LINES_MAX:
        raise BadValue(subject, "not a tuple of lines", limit=f"at most {LINES_MAX} lines")
    shape = "each line is a tuple of wordings, longest first"
    for line in value:
        if not isinstance(line, tuple) or not line or not all(isinstance(word, str) for word in line):
            raise BadValue(subject, shown(repr(line)), limit=shape)
        longest = max(map(len, line))
        if longest > WORDING_MAX:
            raise BadValue(subject, f"a wording of {longest} characters", limit=f"at most {WORDING_MAX}")


@attrs.frozen(kw_only=True)
class LabelText:
    """What one label says.

    `lines` holds one item per line under the tag, the most important line first; each is the same
    statement in several wordings, longest first. The longest that fits is printed.
    `end` is L at the lamp side and C at the controller side, empty for what has no ends. `goes_to` is what
    that end goes to where it is neither lamp nor controller.
    `wire_od_mm` is the diameter of what the label goes round: a wire, or a bundle at a joint.
    """

    kind: Kind = attrs.field(default="wire", validator=one_of(KINDS))
    project: str = attrs.field(validator=_project_fits)
    tag: str = attrs.field(validator=_tag_fits)
    end: End = attrs.field(default="", validator=one_of(("L", "C", "")))
    goes_to: GoesTo = attrs.field(default="", validator=one_of(("joint", "plug", "")))
    lines: tuple[tuple[str, ...], ...] = attrs.field(default=(), validator=_lines_fit)
    colour_code: str = attrs.field(default="", validator=_colour_fits)
    polarity: Polarity = attrs.field(default="", validator=one_of(("+", "-", "")))
    wire_od_mm: float = attrs.field(default=1.2, validator=in_range(0.05, 60.0, "mm"))

    @property
    def at(self) -> str:
        """What the label says it is at: "L", "C", or a kind of thing such as "joint"; "wire" for none."""
        return self.goes_to or self.end or self.kind

    @property
    def name(self) -> str:
        """The tag, with its end where it has one: how a person knows the label."""
        return f"{self.tag}-{self.end}" if self.end else self.tag

    def qr_text(self) -> str:
        """PROJECT-TAG-END, for example "GRT-K7L-C", in the alphanumeric set of QR (ISO/IEC 18004).

        At most ten characters for a wire of a project, so that version 1 at level H holds it.
        """
        return "-".join(part for part in (self.project, self.tag, self.end) if part)


def file_name(text: LabelText, suffix: str = "png") -> str:
    """A file name that says project, tag and end, free of characters any file system dislikes."""
    return f"{re.sub(r'[^A-Za-z0-9-]+', '_', text.qr_text())}.{suffix}"
