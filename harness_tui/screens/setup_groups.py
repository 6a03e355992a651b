"""The groups of Setup in their order, and those about the project itself: its name, its tags, its labels."""

from __future__ import annotations

from harness_tui.screens.setup_electrics import CONTACTS, CONTROLLER, RESISTORS, SUPPLY
from harness_tui.screens.setup_group import Group
from harness_tui.screens.setup_wire import JOINTS, LENGTHS, SPOOLS, WIRE
from harness_tui.session import Edit
from harness_tui.widgets.form import Field
from model import editing
from model.errors import BadValue, NotThere
from model.harness import Harness
from model.tags import TagScheme

# --- project ---


def _project_fields(harness: Harness) -> list[Field]:
    return [
        Field(key="name", label="name", text=harness.name, help="what you call the model"),
        Field(
            key="code",
            label="code",
            text=harness.code,
            help="2 or 3 letters or digits; it stands in every QR code",
        ),
    ]


def _project_edit(harness: Harness, key: str, text: str) -> Edit:
    value = " ".join(text.split())
    if key == "code":
        return lambda h: editing.rename(h, code=value.upper())
    return lambda h: editing.rename(h, name=value)


PROJECT = Group(
    key="project",
    title="project",
    words="The code stands on every label with a QR code. Once one is printed it stays.",
    summary=lambda h: f"{h.code}  {h.name}",
    fields=_project_fields,
    edit=_project_edit,
)


# --- tags and labels ---

_SCHEMES = {
    TagScheme.CODE: "codes with a check character, such as K7L",
    TagScheme.NUMBER: "plain numbers per output",
}


def _tag_fields(harness: Harness) -> list[Field]:
    return [
        Field(
            key="tag_scheme",
            label="tags",
            text=harness.settings.tag_scheme,
            choices=tuple(TagScheme),
            help="codes catch every slip; numbers per output do not. Fixed with the first tag",
        )
    ]


def _tag_edit(harness: Harness, key: str, text: str) -> Edit:
    if text not in tuple(TagScheme):
        raise BadValue("tags", text, limit="code or number")
    return lambda h: editing.set_settings(h, tag_scheme=TagScheme(text))


TAGS = Group(
    key="tags",
    title="tags",
    words="Choose before the first run is accepted: a tag once given keeps its meaning.",
    summary=lambda h: _SCHEMES[h.settings.tag_scheme],
    fields=_tag_fields,
    edit=_tag_edit,
)


def _stock_summary(harness: Harness) -> str:
    settings = harness.settings
    return f"sleeves {settings.sleeve_stock or 'by the wire'}; flags {settings.flag_stock or 'not chosen'}"


def _stock_fields(harness: Harness) -> list[Field]:
    from harness_tui.stocks import all_stocks
    from model.labels.stock import of_kind

    stocks = all_stocks()
    sleeves = tuple(stock.name for stock in of_kind(stocks, "sleeve"))
    flat = tuple(stock.name for kind in ("flag", "wrap") for stock in of_kind(stocks, kind))
    settings = harness.settings
    return [
        Field(
            key="sleeve_stock",
            label="sleeves",
            text=settings.sleeve_stock,
            choices=("", *sleeves),
            help="empty: by wire",
        ),
        Field(
            key="flag_stock",
            label="flags",
            text=settings.flag_stock,
            choices=("", *flat),
            help="with the QR code",
        ),
    ]


def _stock_edit(harness: Harness, key: str, text: str) -> Edit:
    known = next(field for field in _stock_fields(harness) if field.key == key).choices
    if text not in known:
        raise NotThere(f"stock {text}", "does not exist", remedy="Space shows those there are.")
    return lambda h: editing.set_settings(h, **{key: text})


LABELS = Group(
    key="labels",
    title="labels",
    words="What labels are printed on; each is looked at on Labels (6).",
    summary=_stock_summary,
    fields=_stock_fields,
    edit=_stock_edit,
)


GROUPS: tuple[Group, ...] = (
    PROJECT,
    SUPPLY,
    CONTROLLER,
    WIRE,
    SPOOLS,
    LENGTHS,
    JOINTS,
    RESISTORS,
    CONTACTS,
    TAGS,
    LABELS,
)
"""As they stand in the list, but for the last, which belongs to the program (`setup_program`)."""
