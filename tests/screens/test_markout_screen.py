"""Marking out by keyboard alone, with the screen read as plain text; what has to be seen, at both sizes."""

from textual import events
from textual.app import App
from textual.widgets import Input

from rounds.screens.markout import MarkoutScreen
from tests import keyboard

FARM = """# ours
format = 1
name = "Invented"

[[stations]]
kind = "reservoir"
id = "reservoir-1"   # the blue one
name = "Reservoir 1"
"""


class Bench(App[None]):
    """Nothing but the screen."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(self, farm=None):
        super().__init__()
        self.farm = farm

    def on_mount(self):
        self.push_screen(MarkoutScreen(self.farm))


async def settle(pilot):
    await keyboard.until_still(pilot.app)


async def until(pilot, condition):
    await keyboard.until(pilot.app, condition)


async def press(pilot, *steps):
    """Press keys; a step that begins with a quote is typed without a pause."""
    for step in steps:
        keyboard.type_at_once(pilot.app, *(step[1:] if step.startswith("'") else [step]))
        await settle(pilot)


def text(pilot):
    return keyboard.shown(pilot.app)


FILL = (
    "'4.2m", "enter", "'120x60mm", "enter", "'1:40", "f7", "down", "'250mm", "down", "down", "'50mm", "down",
    "'150", "down", "'80", "f7", "'1.2", "f7", "'4",
)  # fmt: skip


SHORT = {"length": "4.2m", "section": "120x60mm", "slope": "1:40", "spacing": "250mm", "hole": "50mm",
         "first_site": "150mm", "outlet_clearance": "80mm", "flow": "1.2L/min", "supports": "4"}  # fmt: skip


async def fill(pilot, **changes):
    """Put the short form in, as if pasted; the cursor stays in the first field."""
    await settle(pilot)
    for name, value in (SHORT | changes).items():
        pilot.app.screen.query_one(f"#field-{name}", Input).value = value
    await settle(pilot)


async def test_a_channel_is_laid_out_while_it_is_typed():
    async with Bench().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Still wanted" in text(pilot)
        await press(pilot, *FILL)
        assert "105.0 mm from inlet to outlet" in text(pilot)
        assert "laminar" in text(pilot)
        await press(pilot, "backspace", "'5")
        assert "1050 mm" not in text(pilot)
        assert "To think over" not in text(pilot) or "between two supports" not in text(pilot)


@keyboard.at_both_sizes
async def test_the_results_say_why_a_site_is_left_empty(size):
    async with Bench().run_test(size=size) as pilot:
        await fill(pilot)
        results = " ".join("".join(line.split("│")[-1]) for line in text(pilot).splitlines())
        assert "left empty: 3900 mm (its roots would block the outlet)" in " ".join(results.split())
        await press(pilot, "f10", "f10")
        assert "goggles" in text(pilot), "cautions stand before the drill list"


@keyboard.at_both_sizes
async def test_the_drawing_is_shown_to_the_last_hole(size):
    async with Bench().run_test(size=size) as pilot:
        await fill(pilot)
        await press(pilot, "f10")
        shown = text(pilot)
        assert "Fall 105 mm" in shown
        assert "3900" in shown
        assert "D outlet" in shown


async def test_whatever_has_the_cursor_is_on_the_screen():
    """Once through every field of every group by the down key, and the sign of the cursor stands at each."""
    size = (80, 24)
    async with Bench().run_test(size=size) as pilot:
        await settle(pilot)
        seen = set()
        while True:
            focused = pilot.app.focused
            assert isinstance(focused, Input)
            if focused.id in seen:
                break
            seen.add(focused.id)
            region = focused.region
            assert 0 <= region.y < size[1] - 1
            assert 0 < region.width <= size[0] - region.x
            assert text(pilot).split("\n")[region.y].startswith("›")
            await press(pilot, "down")
        assert len(seen) == len(pilot.app.screen.query(Input))


@keyboard.at_both_sizes
async def test_all_that_can_be_focused_is_visible(size):
    async with Bench().run_test(size=size) as pilot:
        await settle(pilot)
        for _ in range(9):
            for widget in pilot.app.screen.focus_chain:
                assert widget.region.height > 0
                assert pilot.app.screen.region.contains_region(widget.region)
            await press(pilot, "f7")


@keyboard.at_both_sizes
async def test_a_mistake_has_its_sign_at_the_field_and_its_sentence_on_screen(size):
    async with Bench().run_test(size=size) as pilot:
        await fill(pilot, supports="3,2,1")
        await press(pilot, "f7", "f7", "f7", "down")
        assert "out of order" in text(pilot)
        assert "✗ Supports" in text(pilot)


async def test_typed_markup_is_only_text():
    async with Bench().run_test(size=(80, 24)) as pilot:
        await press(pilot, "'[@click=app.quit]x", "enter", "'[/bold]")
        assert pilot.app.is_running
        assert "is not" in text(pilot) or "number" in text(pilot)


async def test_the_lists_scroll_by_page_without_leaving_the_field():
    async with Bench().run_test(size=(80, 24)) as pilot:
        await fill(pilot)
        await press(pilot, "f10", "f10")
        assert "Drill list" in text(pilot)
        focused = pilot.app.focused
        await press(pilot, "pagedown", "pagedown", "pagedown")
        assert "Cut packer" in text(pilot)
        assert pilot.app.focused is focused


async def test_into_the_farm_shows_the_difference_and_then_writes_it(tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    async with Bench(tmp_path).run_test(size=(80, 24)) as pilot:
        await fill(pilot)
        await press(pilot, "f12", "'channel-9", "down", "down", "'reservoir-1")
        assert '+id = "channel-9"' in text(pilot)
        assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == FARM
        await press(pilot, "f12")
        written = (tmp_path / "farm.toml").read_text(encoding="utf-8")
        assert written.startswith(FARM)
        assert "packers_mm = [105, 70, 35, 0]" in written
        assert "Written into farm.toml" in text(pilot)


async def test_a_farm_that_does_not_fit_is_said_and_nothing_is_written(tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    async with Bench(tmp_path).run_test(size=(80, 24)) as pilot:
        await fill(pilot)
        await press(pilot, "f12", "'channel-9", "f12", "f12")
        assert "needs a reservoir" in text(pilot)
        assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == FARM


async def test_measured_packers_are_compared_at_once():
    async with Bench().run_test(size=(140, 40)) as pilot:
        await fill(pilot)
        await press(pilot, "f5", "f5", "'105,70,45,0")
        assert "2800 mm is 10 mm too high" in text(pilot)


async def test_the_pdf_goes_into_the_file_that_is_named(tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    async with Bench(tmp_path).run_test(size=(80, 24)) as pilot:
        await fill(pilot)
        await press(pilot, "ctrl+r")
        await until(pilot, lambda: "PDF file is missing" in text(pilot))
        pilot.app.screen.on_descendant_focus(events.DescendantFocus(pilot.app.focused))  # as late as on a slow laptop
        await settle(pilot)
        assert "PDF file is missing" in text(pilot)
        await press(pilot, "'channel.pdf", "ctrl+r")
        pdf = tmp_path / "channel.pdf"
        await until(pilot, lambda: pdf.exists() and pdf.read_bytes().startswith(b"%PDF-"))


async def test_who_types_ahead_types_into_the_right_fields():
    """All keys at once, as from a slow laptop that catches up: nobody waits between them."""
    keys = [*"3m", "down", *"100x50", "down", "1", ":", *"40", "f7", "down", *"200", "down", "down", *"45", "f7", "1"]
    async with Bench().run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        keyboard.type_at_once(pilot.app, *keys)
        await until(pilot, lambda: "75.0 mm from inlet" in text(pilot))
        values = {each.id: each.value for each in pilot.app.screen.query(Input) if each.value}
        assert values == {"field-length": "3m", "field-section": "100x50", "field-slope": "1:40",
                          "field-spacing": "200", "field-hole": "45", "field-flow": "1"}  # fmt: skip
