"""What labels are printed on: the stock chosen, and the questions of Labels for it and for the resolution."""

from __future__ import annotations

from collections.abc import Callable

from harness_tui.preferences import read_state, remember_choice
from harness_tui.screens.room import Room
from harness_tui.stocks import all_stocks
from harness_tui.widgets.ask import Choose
from model import editing
from model.harness import Harness
from model.labels.stock import Stock
from model.papers.label_sets import USUAL, What, stocks_that_take

USUAL_OF_WIRES = {"sleeve": "to suit each wire", "flag": "the usual, 12 mm tape"}
"""What wires are marked with where no stock is chosen."""


def chosen_stock(harness: Harness, what: What, group: str) -> str:
    """The name of the stock chosen for labels of `what`, "" for the usual; of wires, for a group of it."""
    if what is What.WIRES:
        return harness.settings.sleeve_stock if group == "sleeve" else harness.settings.flag_stock
    return read_state().choices.get(what, "")


def ask_stock(room: Room, what: What, group: str) -> None:
    """Ask which stock labels are printed on; for wires it is a setting of the project, else the person's."""
    choices = stocks_that_take(all_stocks(), what, group)
    names = ["", *(stock.name for stock in choices)]
    of_wires = what is What.WIRES
    usual = USUAL_OF_WIRES[group] if of_wires else f"the usual: {all_stocks()[USUAL[what]].title}"
    lines = [usual, *map(_choice, choices)]
    chosen = chosen_stock(room.session.harness, what, group)

    def take(place: int | None) -> None:
        if place is None:
            return
        if not of_wires:
            remember_choice(what, names[place])
            room.redraw()
        elif not room.edit(
            lambda h: editing.set_settings(h, **{f"{group}_stock": names[place]}), f"{group} stock"
        ):
            return
        room.say(f"Printing on {lines[place].strip()}.")

    at = names.index(chosen) if chosen in names else 0
    question = f"Which {group} stock?" if of_wires else f"Which stock for {what}?"
    room.app.push_screen(Choose(question, lines, at), take)


def _choice(stock: Stock) -> str:
    least, most = stock.od_range_mm
    wires = f"wires {least:.2f} to {most:.2f} mm" if stock.kind == "sleeve" else ""
    return f"{stock.title:<38} {wires}".rstrip()


def ask_dpi(room: Room, stock: Stock, then: Callable[[int], None]) -> None:
    """Ask for one of the resolutions that the stock can be printed with."""
    lines = [f"{dpi} dpi" for dpi in stock.resolutions_dpi]

    def take(place: int | None) -> None:
        if place is not None:
            then(stock.resolutions_dpi[place])

    at = stock.resolutions_dpi.index(stock.dpi) if stock.dpi in stock.resolutions_dpi else 0
    room.app.push_screen(Choose("Which resolution has the printer?", lines, at), take)
