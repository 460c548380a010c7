"""The form of marking out: one group of fields at a time, each line a name and what was typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static

from rounds.markout.fields import FIELDS, Field

BUILT = (
    Field(name="built_packers", label="Packers", kind="levels", example="105,70,36,0", group="As built",
          help="packers as they stand, one for each support"),
    Field(name="built_levels", label="Levels", kind="levels", example="905,870,836,800", group="As built",
          help="height of the floor over each support, over any one level"),
    Field(name="jug", label="Timed jugs", kind="words", example="1L/52s,1L/55s", group="As built",
          help="one for each channel, or flows in L/min"),
)  # fmt: skip
PAPER = (
    Field(name="pdf", label="PDF file", kind="words", example="channel.pdf", group="On paper",
          help="Ctrl+R prints drawing and lists into this file"),
    Field(name="strip", label="Marking strip", kind="yes", example="no", group="On paper",
          help="yes adds the strip in true size"),
)  # fmt: skip
FARM = (
    Field(name="farm_id", label="Id", kind="words", example="channel-11", group="Into the farm",
          help="a known channel is changed in place, a new one put behind the last"),
    Field(name="farm_name", label="Name", kind="words", example="Channel 11", group="Into the farm",
          help="what it is called on the walk"),
    Field(name="farm_reservoir", label="Reservoir", kind="words", example="reservoir-1", group="Into the farm",
          help="id of the reservoir that feeds it"),
)  # fmt: skip


class FieldLine(Horizontal):
    """One field: its name, a sign where it is wrong or has the cursor, and the text."""

    def __init__(self, field: Field) -> None:
        super().__init__(classes="line")
        self.field = field
        self.wrong = False
        hint = field.start or f"e.g. {field.example}"
        self.input = Input(placeholder=hint, id=f"field-{field.name}", compact=True)
        self._label = Static(Content(f"  {field.label}"), classes="name")

    def compose(self) -> ComposeResult:
        """Name and input."""
        yield self._label
        yield self.input

    def show(self) -> None:
        """Write the name with its sign: › for the cursor, ✗ for a mistake."""
        sign = "✗" if self.wrong else "›" if self.input is self.screen.focused else " "
        self._label.update(Content(f"{sign} {self.field.label}"), layout=False)

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        """Put the sign of the cursor."""
        self.show()

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """Take the sign of the cursor away."""
        self.show()


class MarkoutForm(Vertical):
    """All fields in groups, of which one is shown."""

    def __init__(self, with_farm: bool) -> None:
        super().__init__(id="form")
        fields = (*FIELDS, *BUILT, *PAPER, *(FARM if with_farm else ()))
        self._lines = [FieldLine(field) for field in fields]
        self.groups = list(dict.fromkeys(field.group for field in fields))
        self.at = 0

    def compose(self) -> ComposeResult:
        """A title, then each group's lines."""
        yield Static(id="group")
        for number in range(len(self.groups)):
            with Vertical(id=f"group-{number}", classes="fields"):
                yield from self._in_group(number)

    def on_mount(self) -> None:
        """Begin with the first group."""
        self.open(0)

    def open(self, number: int, last: bool = False) -> None:
        """Show one group and put the cursor into its first or last field."""
        self.at = number % len(self.groups)
        for other in range(len(self.groups)):
            self.query_one(f"#group-{other}").display = other == self.at
        title = f"{self.groups[self.at]} ({self.at + 1} of {len(self.groups)})"
        self.query_one("#group", Static).update(Content(title))
        self.screen.set_focus(self._in_group(self.at)[-1 if last else 0].input)

    def open_named(self, group: str) -> None:
        """Show the group of that name."""
        self.open(self.groups.index(group))

    def step(self, by: int) -> None:
        """Put the cursor into the next or previous field, across groups."""
        lines = self._in_group(self.at)
        here = next((i for i, line in enumerate(lines) if line.input is self.screen.focused), 0) + by
        if 0 <= here < len(lines):
            self.screen.set_focus(lines[here].input)
        else:
            self.open(self.at + by, last=by < 0)

    def texts(self) -> dict[str, str]:
        """What is typed, by field; empty fields are left out."""
        return {line.field.name: line.input.value for line in self._lines if line.input.value.strip()}

    def focused_field(self) -> Field | None:
        """The field with the cursor."""
        return next((line.field for line in self._lines if line.input is self.screen.focused), None)

    def mark(self, wrong: Iterable[str]) -> None:
        """Put the sign of a mistake to these fields and take it from all others."""
        names = set(wrong)
        for line in self._lines:
            if line.wrong != (line.field.name in names):
                line.wrong = line.field.name in names
                line.show()

    def _in_group(self, number: int) -> list[FieldLine]:
        return [line for line in self._lines if line.field.group == self.groups[number]]


def plan_texts(texts: Mapping[str, str]) -> dict[str, str]:
    """The texts that belong to the plan itself."""
    names = {field.name for field in FIELDS}
    return {name: text for name, text in texts.items() if name in names}
