"""The guided start: one question at a time, the answer already filled in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

import attrs
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from harness_tui.projects import file_name, free_path, new_project
from harness_tui.screens.room import styles_beside
from harness_tui.session import Session
from harness_tui.widgets.form import Field, FieldInput
from harness_tui.widgets.lines import clip
from model.electrics.supply import volts
from model.errors import BadValue, LoomError
from model.harness import Harness, Switched
from model.starting import (
    USUAL_SUPPLIES,
    StartAnswers,
    parse_blocks,
    parse_supply,
    polarity_words,
    start,
    suggest_code,
    supply_text,
)

Answers = dict[str, str]

_ONE_COLOUR, _PER_OUTPUT = "red plus, black minus", "a colour per output"


@attrs.frozen(kw_only=True)
class Question:
    """One question: what is filled in from the answers before it, and `check`, which raises what is wrong.

    `more` says what an answer means, in words under the line.
    """

    key: str
    label: str
    words: str
    filled: Callable[[Answers], str]
    check: Callable[[Answers, str], object]
    more: Callable[[str], str] = lambda text: ""
    choices: tuple[str, ...] = ()
    free: bool = True


def _name(answers: Answers, text: str) -> object:
    return Harness(name=" ".join(text.split()), code="XX")


def _code(answers: Answers, text: str) -> object:
    return Harness(name="x", code=text.strip().upper())


def _switched(answers: Answers, text: str) -> object:
    if text not in tuple(Switched):
        raise BadValue("switched side", text or "is empty", limit="negative or positive")
    return text


def _colours(answers: Answers, text: str) -> object:
    if text not in (_ONE_COLOUR, _PER_OUTPUT):
        raise BadValue("wire colours", text or "is empty", limit=f"{_ONE_COLOUR}, or {_PER_OUTPUT}")
    return text


def _file(answers: Answers, text: str) -> object:
    path = Path(text).expanduser()
    if not text.strip():
        raise BadValue("file", "has no name")
    if path.exists():
        raise BadValue(f"file {path}", "exists already", remedy="Choose another name.")
    return path


def _supply_more(text: str) -> str:
    try:
        return f"{volts(parse_supply(text))} flat, nominal, full. Cells or volts can be changed later."
    except LoomError:
        return "For example  NiMH 6 cells  or  12 V"


def _switched_more(text: str) -> str:
    return polarity_words(Switched(text)) if text in tuple(Switched) else "negative or positive"


QUESTIONS = (
    Question(
        key="name",
        label="model",
        words="What is the model called?",
        filled=lambda answers: answers.get("file name", "My model"),
        check=_name,
        more=lambda text: "It stands in the head line and on the papers.",
    ),
    Question(
        key="code",
        label="code",
        words="Its code of 2 or 3 letters or digits?",
        filled=lambda answers: suggest_code(answers["name"]),
        check=_code,
        more=lambda text: "It stands on every label with a QR code, before the tag.",
    ),
    Question(
        key="supply",
        label="supply",
        words="What feeds the lamps?",
        filled=lambda answers: USUAL_SUPPLIES[0],
        check=lambda answers, text: parse_supply(text),
        more=_supply_more,
        choices=USUAL_SUPPLIES,
    ),
    Question(
        key="outputs",
        label="outputs",
        words="How many switched outputs has the controller?",
        filled=lambda answers: "6",
        check=lambda answers, text: parse_blocks(text),
        more=lambda text: "6+6 for two blocks, each on a connector of its own and with a common pin.",
    ),
    Question(
        key="switched",
        label="switched",
        words="Which side of the lamps do they switch?",
        filled=lambda answers: str(Switched.NEGATIVE),
        check=_switched,
        more=_switched_more,
        choices=tuple(Switched),
        free=False,
    ),
    Question(
        key="colours",
        label="wires",
        words="Which colours have the wires?",
        filled=lambda answers: _ONE_COLOUR,
        check=_colours,
        more=lambda text: "Other colours, gauge and slack are in Setup (0).",
        choices=(_ONE_COLOUR, _PER_OUTPUT),
        free=False,
    ),
    Question(
        key="file",
        label="file",
        words="Which file is it kept in?",
        filled=lambda answers: str(free_path(Path(file_name(answers["name"])))),
        check=_file,
        more=lambda text: f"In folder {Path.cwd()} unless you say another.",
    ),
)


def answered(answers: Answers) -> StartAnswers:
    """The answers as typed, as the core takes them."""
    return StartAnswers(
        name=" ".join(answers["name"].split()),
        code=answers["code"].strip().upper(),
        supply=parse_supply(answers["supply"]),
        blocks=parse_blocks(answers["outputs"]),
        switched=Switched(answers["switched"]),
        colour_per_output=answers["colours"] == _PER_OUTPUT,
    )


class StartScreen(Screen[Session | None]):
    """Asks the questions and makes the project; gives its session, None where the person went back."""

    DEFAULT_CSS = styles_beside(__file__)

    BINDINGS: ClassVar = [Binding("escape", "back", "one question back", id="start.back")]

    def __init__(self, path: Path | None = None) -> None:
        """`path` is the file where it is known already, and is then not asked for."""
        super().__init__()
        self.path = path
        self.questions = QUESTIONS if path is None else QUESTIONS[:-1]
        self.answers: Answers = {}
        if path is not None and (words := path.stem.replace("_", " ").replace("-", " ").strip()):
            self.answers["file name"] = words[:1].upper() + words[1:]
        self.at = 0

    def compose(self) -> ComposeResult:
        yield Static("", id="head", markup=False)
        yield Static("", id="answered", markup=False)
        with Vertical(id="question"):
            yield Static("", id="words", markup=False)
            yield Vertical(id="line")
            yield Static("", id="more", markup=False)
        yield Static("Enter accepts what stands there   Escape one question back", id="foot", markup=False)

    async def on_mount(self) -> None:
        await self._ask()

    async def _ask(self) -> None:
        question = self.questions[self.at]
        self.query_one("#head", Static).update(
            f"New project: question {self.at + 1} of {len(self.questions)}"
        )
        done = (f" {one.label:<10}{self.answers[one.key]}" for one in self.questions[: self.at])
        width = self.app.size.width - 4
        self.query_one("#answered", Static).update(Content("\n".join(clip(line, width) for line in done)))
        self.query_one("#words", Static).update(Content.styled(question.words, "bold"))
        text = self.answers.get(question.key) or question.filled(self.answers)
        line = self.query_one("#line")
        await line.remove_children()
        field = Field(key=question.key, label="", text=text, choices=question.choices, free=question.free)
        editor = FieldInput(field)
        await line.mount(editor)
        editor.focus()
        self._tell(text)

    def _tell(self, text: str, wrong: str = "") -> None:
        question = self.questions[self.at]
        more = self.query_one("#more", Static)
        more.set_class(bool(wrong), "wrong")
        words = wrong or question.more(text)
        if question.choices and not wrong:
            words += f"\nspace: next of  {' · '.join(question.choices)}"
        more.update(Content(words))

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        self._tell(event.value)

    @on(Input.Submitted)
    async def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        question = self.questions[self.at]
        editor = event.input
        text = editor.field.read(event.value) if isinstance(editor, FieldInput) else event.value
        try:
            question.check(self.answers, text)
            if question.key == "supply":
                text = supply_text(parse_supply(text))
            self.answers[question.key] = text
            if self.at + 1 == len(self.questions):
                self.dismiss(self._make())
                return
        except LoomError as error:
            self._tell(text, error.message())
            return
        # A name that was changed takes its suggested code and file with it.
        if question.key == "name":
            self.answers.pop("code", None)
            self.answers.pop("file", None)
        self.at += 1
        await self._ask()

    def _make(self) -> Session:
        path = self.path or Path(self.answers["file"]).expanduser()
        return new_project(path if path.suffix else path.with_suffix(".toml"), start(answered(self.answers)))

    async def action_back(self) -> None:
        """Go to the question before; from the first, leave."""
        if self.at == 0:
            self.dismiss(None)
            return
        editors = self.query(FieldInput)
        if editors:
            self.answers[self.questions[self.at].key] = editors.first().value
        self.at -= 1
        await self._ask()
