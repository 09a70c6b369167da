"""What a newcomer must be able to read off the screen: keys by name, whole sentences, the rules of food safety."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import FakeSource, snapshot, trend
from playing import play, press, settle, text
from textual.pilot import Pilot
from textual.widgets import Static
from tuyere.cook.in_short import state_words
from tuyere.cook.snapshot import Breath, Cycle, Kitchen, Next, Prompt, Snapshot
from tuyere.measures import MASS
from tuyere.text import Span, Temperature
from tuyere.text import text as said
from tuyere.tui.app import WatchApp
from tuyere.tui.screens.form import measure
from tuyere.tui.screens.read import read_text
from tuyere.tui.view import View
from tuyere.tui.widgets.detail import detail_lines
from tuyere.tui.widgets.prompts import hands_lines

SIZES = [(60, 20), (80, 24), (120, 35)]


def flowing(shown: str) -> str:
    return " ".join(shown.split())


def boxed(app: WatchApp) -> str:
    """What of the dialog is on the screen."""
    at = app.screen.query_one(".box").region
    lines = text(app).split("\n")[at.y : at.bottom]
    return flowing(" ".join(line[at.x : at.right] for line in lines))


def changed(**changes: Any) -> Snapshot:
    return msgspec.structs.replace(snapshot(trend(6.0)), **changes)


@pytest.mark.parametrize("size", SIZES)
def test_ending_a_cook_says_what_is_not_carved_yet(tmp_path: Path, size: tuple[int, int]) -> None:
    shot = changed()
    for piece, place in zip(shot.pieces, ("box", "carved", "oven"), strict=True):
        piece.place = place

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "e")
        shown = boxed(app)
        assert "Not carved yet: Big flat in the box, Small one in the oven." in shown and "ends with the cook." in shown
        assert "y end the cook" in shown  # the question still has its answers
        await press(pilot, "n")
        for piece in shot.pieces:
            piece.place = "carved"
        source.push(msgspec.structs.replace(shot, now=shot.now + 1))
        await settle(pilot)
        await press(pilot, "e")
        assert "End Saturday brisket?" in text(app) and "Not carved" not in text(app)

    play(look, tmp_path, size=size, source=FakeSource(shot=shot))


def test_after_the_end_the_hands_are_told_what_nobody_watches_any_more() -> None:
    shot = changed(prompts=[], cycle=Cycle(state="burnout"))
    assert shot.cook is not None
    shot.cook = msgspec.structs.replace(shot.cook, ended=shot.now)

    def said() -> str:
        return "".join(part for line in hands_lines(View(shot=shot, where="open"), 118) for part, _ in line)

    assert said() == "nothing: the cook is over, F9 sums it up. s begins a new one, without a plan."
    shot.planned = Next("Village hall supper", ["Alder", "Bramble"])
    over = "nothing: the cook is over, F9 sums it up."
    assert said() == f"{over} s begins Village hall supper, as planned: Alder, Bramble."
    shot.pieces[0].place = "box"
    shot.planned = None
    assert " ".join(said().split()).endswith("Big flat still held hot: nothing watches it any more.")


def test_the_prompt_for_the_next_phase_names_its_key() -> None:
    words = "The pieces are wrapped: go on to the next phase, finish (the band stays)?"
    view = View(shot=changed(prompts=[Prompt("phase", words, 0)]), where="open", keys={"phase": "6"})
    said = " ".join("".join(part for part, _ in line) for line in hands_lines(view, 118))
    assert said.endswith("(the band stays)? 6 does so.")


@pytest.mark.parametrize(("high", "words"), [(135.0, "The band stays 250-275 F."), (121.1, "The band becomes 225-250")])
def test_the_question_for_the_next_phase_says_what_becomes_of_the_band(tmp_path: Path, high: float, words: str) -> None:
    shot = changed()
    shot.phases[2] = msgspec.structs.replace(shot.phases[2], low=high - 13.9, high=high)
    shot.phases.append(msgspec.structs.replace(shot.phases[2], low=60.0, high=80.0))

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "p")
        assert words in boxed(app)

    play(look, tmp_path, source=FakeSource(shot=shot))


def test_a_number_that_cannot_be_is_answered_in_a_sentence(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "k", *"12")
        assert "0 raw to 10 black" in text(app)  # beside the field
        await press(pilot, "enter")
        assert "Shade: 12 is out of range; give 0 to 10." in boxed(app)

    play(look, tmp_path)
    charcoal = measure("fuel", "charcoal", None, MASS, "C", "at start", low=0.1, high=60)
    assert charcoal.check("90") == "Charcoal: 90.0 kg is out of range; give 100 g-60.0 kg."
    charcoal = measure("fuel", "charcoal", None, MASS, "F", "at start", low=0.1, high=60)
    assert charcoal.check("200") == "Charcoal: 200 lb is out of range; give 3.5 oz-132 lb."
    assert not charcoal.check("20 lbs") and not charcoal.check("9 kg") and charcoal.read("9 kg") == 9.0
    assert charcoal.check("9 F") == 'Charcoal "9 F" cannot be read: give it as 40 lb.'


def test_what_is_done_to_the_pit_is_not_asked_of_a_piece(tmp_path: Path) -> None:
    source = FakeSource()

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.calls.clear()
        for kind in "pfalo":
            await press(pilot, "n", kind)
            assert "Big flat" not in "\n".join(str(one.render()) for one in app.screen.query("Choice"))
            await press(pilot, "enter")

    play(look, tmp_path, source=source)
    assert [params["piece"] for _, params in source.calls] == [0] * 5


def test_a_sentence_said_again_stands_once(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        for _ in range(3):
            await press(pilot, "l")
        await press(pilot, "g")
        assert sorted(one.message for one in app._notifications) == ["No alarm stands.", "The fan is not set by hand."]

    play(look, tmp_path)


@pytest.mark.parametrize("size", SIZES)
def test_the_help_says_where_the_keys_can_be_changed(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "question_mark")
        page = str(app.screen.query_one("#page", Static).render())
        assert str(tmp_path / "screen.toml") in page.replace("\n", "")

    play(look, tmp_path, size=size)


def test_the_detail_leaves_nothing_out_without_saying_so() -> None:
    view = View(shot=changed(), where="open")
    for height in range(3, 8):
        lines = ["".join(part for part, _ in line) for line in detail_lines(view, 58, height)]
        assert len(lines) == height and lines[-1] == "r reads the rest"
        assert lines[0].startswith("fan") and lines[1].startswith("aim")
    whole = ["".join(part for part, _ in line) for line in detail_lines(view, 58, 8)]
    assert whole[-1].startswith("reason") and any(line.startswith("pull") for line in whole)


def test_the_detail_has_the_fires_breath_once_it_is_known() -> None:
    shown = [
        ["".join(part for part, _ in line) for line in detail_lines(View(shot=shot, where="open"), 58, 12)]
        for shot in (changed(), changed(breath=Breath(share=0.55)))
    ]
    assert not any(line.startswith("breath") for line in shown[0])
    assert [line.split() for line in shown[1] if line.startswith("breath")] == [
        ["breath", "55", "%", "of", "its", "best"]
    ]


def test_the_detail_at_the_smallest_size_has_reason_and_aim(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "d")
        assert "the pit is in the band" in text(app) and "262.5 F" in text(app)

    play(look, tmp_path, size=(60, 20))


def test_a_fire_that_is_left_to_burn_out_is_said_in_words() -> None:
    assert state_words(View(shot=changed(cycle=Cycle(state="burnout")), where="open")) == "over, fan off"


@pytest.mark.parametrize("width", [50, 84])
def test_the_page_in_full_has_what_is_known_of_food_safety(width: int) -> None:
    shot = changed(
        rules=[
            said("From {low} to {high} within 6 h. (a source)", low=Temperature(10.0), high=Temperature(54.4)),
            "Follow your local rules.",
        ]
    )
    shot.pieces[0].safe = [
        said("Its probe read between {low} and {high} for 5 h 10 min", low=Temperature(4.0), high=Temperature(60.0))
    ]
    shot.pieces[0].verdict = said("{off} below its target.", off=Span(26.0))
    page = flowing(read_text(View(shot=shot, where="open"), width).plain)
    assert "47 F below its target. Its probe read between 39 F and 140 F for 5 h 10 min." in page
    assert "Food safety From 50 F to 130 F within 6 h. (a source) Follow your local rules." in page
    assert "Food safety" not in read_text(View(shot=changed(), where="open"), width).plain


@pytest.mark.parametrize("size", SIZES)
def test_the_kitchen_has_the_rule_of_hot_holding(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "y")
        shown = boxed(app)
        assert "Hot holding at 135 F or above" in shown and "Follow your local rules." in shown
        assert "min before shade" in shown and "escape leaves" in shown  # nothing is pushed off the form

    play(look, tmp_path, size=size, source=FakeSource(shot=changed(kitchen=Kitchen(use="trade", region="us"))))


@pytest.mark.parametrize("simulated", [True, False])
def test_a_note_of_what_the_twins_own_hands_do_says_what_it_reaches(tmp_path: Path, simulated: bool) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "w")
        assert ("The simulated cook does this" in boxed(app)) is simulated
        await press(pilot, "escape", "n", "f")
        assert "The simulated cook" not in boxed(app)  # nobody else adds fuel

    play(look, tmp_path, size=(60, 20), source=FakeSource(shot=snapshot(trend(6.0), simulated=simulated)))
