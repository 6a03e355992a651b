"""Asking for the volts that the battery has now."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.app import App

from harness_tui.widgets.ask_checked import ask_number
from model.tracing.behaviour import check_battery
from model.values import parse_number


def ask_battery(app: App[Any], battery_v: float | None, told: Callable[[float | None], None]) -> None:
    """Ask; `told` gets the volts, None for the nominal ones. It is not called where Escape leaves."""

    def read(typed: str | None) -> None:
        if typed is not None:
            told(parse_number(typed, "battery", "V"))

    question = ask_number(
        "Battery, in V",
        f"{battery_v:g}" if battery_v is not None else "",
        subject="battery",
        unit="V",
        more="Measured at the battery now. Empty takes its nominal volts.",
        then=check_battery,
    )
    app.push_screen(question, read)
