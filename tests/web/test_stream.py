"""What a browser is sent: all of it once, then what has changed, each with its age; and what it says."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import msgspec
import pytest
from fake_source import MINUTE, snapshot, trend
from tuyere.cook import faults, in_short, prompts, serving, woken
from tuyere.cook.onlooker import Onlooker
from tuyere.cook.programme import BY_HAND
from tuyere.cook.snapshot import Alarm, Event, Piece, Prompt, Trend, Waking
from tuyere.cook.standing import headline
from tuyere.text import Key, text
from tuyere.web import page_words
from tuyere.web.hub import QUIET
from tuyere.web.page_words import PageView
from tuyere.web.site import zone_of
from web_kit import Page

COLUMNS = trend(6.0)
NOW = COLUMNS.at[-1]


def parts(zone: str = "", units: str = "F", **changes: Any) -> dict[str, Any]:
    shot = msgspec.structs.replace(snapshot(COLUMNS), **changes)
    return page_words.parts(PageView(shot=shot, where="open", units=units, zone=zone_of(zone)))


def follow(page: Page, *steps: Any, where: str = "/events") -> list[dict[str, Any]]:
    """A browser's news: the first, and one after each step."""

    async def run() -> list[dict[str, Any]]:
        task = asyncio.create_task(page.ask("GET", where, chunks=2 + len(steps)))
        for step in steps:
            for _ in range(20):
                await asyncio.sleep(0)
            step()
        return (await asyncio.wait_for(task, 30)).news

    return asyncio.run(run())


def test_a_browser_gets_everything_once_and_then_what_has_changed(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))
    shot = page.engine.shot
    later = msgspec.structs.replace(shot, now=NOW + 1000, prompts=[])
    first, second = follow(page, lambda: page.hub.take_snapshot(later))
    assert set(first) == {"head", "top", "pit", "alarms", "next", "idle", "pieces", "noted", "may", "fresh", "drawn"}
    assert first["head"]["words"][0] == "Holding 263 F, in the band"
    assert set(second) == {"next", "fresh"} and second["next"] == []


def test_the_trend_says_when_it_has_grown(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))
    more = Trend(cook=1, last=COLUMNS.last + 1, at=[NOW + 2000], pit=[129.0], fan=[0.3], low=[121.1], high=[135.0],
                 meat_1=[70.0], meat_2=[69.0], meat_3=[None])  # fmt: skip
    first, second = follow(page, lambda: page.hub.take_trend(more))
    assert set(second) == {"fresh", "drawn"} and second["drawn"] == first["drawn"] + 1


def test_how_old_it_is_goes_with_every_message(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS, simulated=False))
    fresh = follow(page)[0]["fresh"]
    assert fresh["live"] and fresh["age"] == 0.0
    page.clock.on(QUIET + 5)
    old = follow(page)[0]
    assert not old["fresh"]["live"] and old["fresh"]["age"] == QUIET + 5
    assert old["head"]["words"][0].startswith("No word from the engine") and old["pit"]["fan"] == "-"


def test_an_engine_that_goes_and_comes_back(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS, simulated=False))

    def back() -> None:
        page.hub.found()
        page.hub.take_snapshot(page.engine.shot)

    news = follow(page, lambda: page.hub.lost(""), lambda: page.hub.take_end("A person ended it."), back)
    heads = [one["head"]["words"][0] for one in news]
    assert heads[1].startswith("The engine is gone since") and "ended on purpose" in heads[2] and heads[3] == heads[0]
    assert news[1]["may"]["stop"] is False and news[3]["may"]["stop"] is True
    assert "F5 on the screen at the pit" in " ".join(news[2]["head"]["words"])


def test_a_withdrawn_device_hears_nothing_more(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))

    async def run() -> bytes:
        task = asyncio.create_task(page.ask("GET", "/events"))
        await asyncio.sleep(0.01)
        page.devices.withdraw(page.device.id)
        page.hub.take_snapshot(msgspec.structs.replace(page.engine.shot, prompts=[]))
        return (await asyncio.wait_for(task, 30)).chunks[-1]

    assert asyncio.run(run()).startswith(b"event: gone")


def test_a_fault_in_a_stream_ends_it_and_is_kept(tmp_path: Path, monkeypatch: Any) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))

    def broken(view: PageView) -> Any:
        raise ZeroDivisionError("in the words")

    monkeypatch.setattr(page_words, "parts", broken)
    assert page.get("/events").news == []
    assert "in the words" in (tmp_path / "unexpected.log").read_text()


def test_readers_alike_share_one_rendering_and_others_have_their_own(tmp_path: Path, monkeypatch: Any) -> None:
    page, made = Page(tmp_path, snapshot(COLUMNS)), []
    usual = page_words.parts
    monkeypatch.setattr(page_words, "parts", lambda view: made.append(view.units) or usual(view))
    for where in ("/events?units=F", "/events?units=F", "/events?units=C", "/events?units=C&zone=Asia/Tokyo"):
        follow(page, where=where)
    assert made == ["F", "C", "C"]
    for where in [f"/events?zone=Etc/GMT%2B{n}" for n in range(1, 13)] * 3:
        follow(page, where=where)
    assert len(page.hub._pages) <= 24


def test_pictures_are_kept_for_few_readers_and_made_anew_when_something_came(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))
    first = page.get("/trend.svg?width=358&height=230").body
    assert page.get("/trend.svg?width=351&height=230").body == first
    for n in range(28):
        page.get(f"/trend.svg?width={300 + n * 10}&height=230")
    assert len(page.hub._pictures) <= 24
    page.hub.take_trend(Trend(cook=1, last=10**6, at=[NOW + 60_000], pit=[180.0], fan=[0.3], low=[121.1], high=[135.0]))
    assert page.get("/trend.svg?width=358&height=230").body != first


@pytest.mark.parametrize("query", ["", "width=-1&height=x", "width=99999999&height=1e9", "width=%00", "window=none"])
def test_a_picture_is_one_whatever_is_asked(tmp_path: Path, query: str) -> None:
    answer = Page(tmp_path, snapshot(COLUMNS)).get(f"/trend.svg?{query}")
    root = ElementTree.fromstring(answer.body)
    assert 200 <= int(root.get("width", "")) <= 1600 and 120 <= int(root.get("height", "")) <= 900


# -- the words ------------------------------------------------------------------------------


def test_the_words_are_those_of_the_screen() -> None:
    shot = snapshot(COLUMNS)
    assert parts()["head"]["words"] == headline(Onlooker(shot=shot, where="open"))
    assert parts(units="C")["head"]["words"][0] == "Holding 128 C, in the band"
    assert parts(units="C")["pit"]["band"] == "121-135 C"


def test_times_are_in_the_reader_s_zone() -> None:
    assert parts()["top"]["clock"] == "01:59"
    assert parts("Asia/Tokyo")["top"]["clock"] == "10:59"
    assert parts("America/New_York")["noted"][0]["when"] == "21:34"


def test_a_name_stays_text() -> None:
    name = '<img src=x onerror="alert(1)">'
    page = parts(pieces=[Piece(id=1, name=name, probe=1, temperature=70.0, on_at=NOW - MINUTE)])
    assert page["pieces"][0]["name"] == name  # the browser puts it in as text


def test_what_cannot_be_seen_in_a_name_is_shown(tmp_path: Path) -> None:
    """It could turn the order of what is read."""
    shot = msgspec.structs.replace(snapshot(COLUMNS), pieces=[Piece(id=1, name="flat\u202epoint\0", probe=1)])
    [news] = Page(tmp_path, shot).get("/events", chunks=2).news
    assert news["pieces"][0]["name"] == r"flat\u202epoint\x00"


def test_a_name_in_the_picture_is_escaped(tmp_path: Path) -> None:
    name = "</svg>\x1b<script>alert(1)</script>"  # no XML may hold an escape character
    shot = msgspec.structs.replace(snapshot(COLUMNS), pieces=[Piece(id=1, name=name, probe=1, temperature=70.0)])
    body = Page(tmp_path, shot).get("/trend.svg").body
    assert b"<script" not in body and ElementTree.fromstring(body).tag.endswith("svg")


def test_a_trip_says_who_acknowledges_it_and_has_no_button() -> None:
    alarms = [Alarm(id=1, raised=NOW, level="urgent", what="Tripped", code="trip_hot"),
              Alarm(id=2, raised=NOW, level="urgent", what="Fading", code="fading"),
              Alarm(id=3, raised=NOW, level="warning", what="Seen", code="x", acknowledged=NOW)]  # fmt: skip
    shown = {one["id"]: one for one in parts(alarms=alarms)["alarms"]}
    assert shown[1]["trip"] and not shown[1]["see"]
    assert shown[2]["see"] and not shown[2]["trip"] and shown[2]["tone"] == "urgent"
    assert not shown[3]["see"] and "seen 01:59" in shown[3]["state"]
    assert parts(alarms=alarms)["head"]["tone"] == "urgent"


def test_who_may_only_look_has_no_buttons() -> None:
    shot = snapshot(COLUMNS, alarm=True)
    page = page_words.parts(PageView(shot=shot, where="open", look=True))
    assert page["may"]["look"] and not any(page["may"][name] for name in ("note", "opened", "band", "stop", "awake"))
    assert not any(one["kind"] for one in page["next"]) and not any(one["see"] for one in page["alarms"])
    assert not any(one["undo"] for one in page["noted"])


def test_i_m_awake_is_there_while_somebody_is_called() -> None:
    assert parts(waking=Waking(calling=True))["may"]["awake"] and not parts()["may"]["awake"]


def test_an_old_reading_stands_in_brackets() -> None:
    page = parts(stale=True)
    assert page["pieces"][0]["now"].startswith("(") and page["pit"]["fan"] == "-" and page["head"]["tone"] == "hand"


def test_what_is_to_do_can_be_noted_where_it_is_a_note() -> None:
    page = parts(prompts=[Prompt("shade", "Note the bark", 0, 1), Prompt("look", "Shut the lid", 0)])
    assert [one["kind"] for one in page["next"]] == ["shade", ""]
    assert all(one["now"] for one in page["next"])


def test_the_last_note_can_be_taken_back_and_no_other() -> None:
    last = Event(id=21, at=NOW, noted=NOW, kind="spritzed", piece=1)
    assert [one["undo"] for one in parts(last_note=last)["noted"]][:3].count(21) == 1


def test_without_an_engine_there_is_a_page() -> None:
    page = page_words.parts(PageView())
    assert page["head"]["words"][0] == "Looking for the engine." and page["pit"] == {} and not page["may"]["stop"]
    assert "start one" in page["head"]["words"][1]  # the page starts none


def test_every_key_that_a_sentence_names_is_a_button_here_or_at_the_pit() -> None:
    """No sentence sends the reader of a phone to a bare key."""
    source = Path(page_words.__file__).parents[1]
    named = set()
    for file in [*(source / "cook").glob("*.py"), *(source / "engine").rglob("*.py")]:
        named |= set(re.findall(r'Key\("(\w+)"', file.read_text()))
    assert {"start", "stop", "awake"} <= named <= {name for name, _ in page_words.KEYS}
    view = PageView(shot=snapshot(COLUMNS), where="open")
    assert view.said(text("({key})", key=Key("stop", "x"))) == "(Stop)"
    assert view.said(text("({key})", key=prompts.Key("start", "s"))) == "(s on the screen at the pit)"
    assert all((faults, serving, woken))


def test_notes_know_their_measures_in_the_reader_s_units() -> None:
    by_kind = {one["kind"]: one for one in page_words.notes("F")}
    assert by_kind["hand_reading"]["hint"] == "-4 F to 302 F" or "302 F" in by_kind["hand_reading"]["hint"]
    assert "lb" in by_kind["fuel_added"]["hint"] and by_kind["fuel_added"]["texts"] == ["lit", "unlit"]
    assert by_kind["shade"]["must"] and by_kind["said"]["free"] and "divided" not in by_kind


def test_a_report_is_made_for_this_reader(tmp_path: Path) -> None:
    page = Page(tmp_path, snapshot(COLUMNS))
    answer = page.get("/report?units=C&zone=Asia/Tokyo")
    assert answer.status == 200 and "attachment" in answer.headers["content-disposition"]
    page.get("/report?units=F&zone=../../x")
    assert page.reports == [(1, "C", "Asia/Tokyo"), (1, "F", "")]


def test_a_phase_is_named_where_it_says_something_of_the_pit() -> None:
    shot = snapshot(COLUMNS)
    assert shot.cycle is not None
    named = ", ".join(part for part in in_short.phase_words(PageView(shot=shot)) if part)
    assert named and named in parts(phases=shot.phases)["pit"]["more"]
    low, high = shot.cycle.low, shot.cycle.high
    alike = [msgspec.structs.replace(one, end_kind=BY_HAND, low=low, high=high) for one in shot.phases]
    assert not any(alike[0].name in one for one in parts(phases=alike)["pit"]["more"])
