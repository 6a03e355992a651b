"""One question in the bottom lines that is asked until its answer can stand."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import on
from textual.content import Content
from textual.widgets import Input, Static

from harness_tui.widgets.ask import Ask
from model import lengths
from model.errors import LoomError
from model.values import parse_number


class AskChecked(Ask):
    """Asks for one line; what is wrong with it is said below, and the typed text stays to be mended.

    `check` takes the text and raises what is wrong with it.
    """

    DEFAULT_CSS = """
    AskChecked .more.wrong { color: $text-error; text-style: none; }
    """

    def __init__(
        self,
        question: str,
        text: str = "",
        *,
        check: Callable[[str], object],
        more: str = " ",
        choices: Sequence[str] = (),
    ) -> None:
        super().__init__(question, text, more=more or " ", choices=choices)
        self.check = check

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        # The handler of the base would take whatever was typed.
        event.prevent_default()
        event.stop()
        try:
            self.check(event.value)
        except LoomError as error:
            line = self.query_one(".more", Static)
            line.add_class("wrong")
            line.update(Content(error.message()))
        else:
            self.dismiss(event.value)


def ask_number(
    question: str,
    text: str = "",
    *,
    subject: str,
    unit: str = "mm",
    more: str = " ",
    then: Callable[[float | None], object] = lambda value: None,
) -> AskChecked:
    """A question for a number; `then` may refuse the parsed number by raising. One in mm is a length."""

    def parse(typed: str) -> float | None:
        return lengths.read(typed, subject) if unit == "mm" else parse_number(typed, subject, unit)

    return AskChecked(question, text, more=more, check=lambda typed: then(parse(typed)))
