"""The rules of a place: numbers as read in their sources, and nothing of one region on a page of another."""

from __future__ import annotations

import re

import pytest
from tuyere.meat import regions, safety
from tuyere.text import Reader, render

ALL = [(use, region) for use in regions.USES for region in regions.REGIONS]


def listed(found: regions.Rules) -> list[safety.Rule]:
    """Every rule that a place has."""
    return [one for one in vars(found).values() if isinstance(one, safety.Rule)]


@pytest.mark.parametrize(
    ("use", "region", "c"),
    [
        ("home", "us", 60.0),  # USDA, advice to consumers: 140 F
        ("trade", "us", 57.0),  # FDA Food Code 3-501.16: 135 F
        ("trade", "uk", 63.0),  # 2005/2059 and 2006/31, schedule 4, paragraph 6
        ("trade", "scotland", 63.0),  # 2006/3, schedule 4, paragraph 2
        ("trade", "de", 60.0),  # DIN 10506:2023, as DIN's consumer council reports it
        ("trade", "at", 70.0),  # Leitlinie fuer Grosskuechen, chapter 7.1
        ("trade", "eu", 63.0),  # no number in the Union's regulation
        ("home", "other", 60.0),
    ],
)
def test_hot_hold_limits(use: str, region: str, c: float) -> None:
    rules = regions.rules(use, region)
    assert rules.limit == rules.hold.c == c
    assert f"{c:g} C" in render(rules.hold.text, Reader("C")) and rules.hold.source
    assert str(rules.hold).endswith("Follow your local rules.")


def test_austria_allows_three_hours_and_scotland_reheats_to_82() -> None:
    assert regions.rules("trade", "at").most_h == 3.0 and regions.rules("home", "at").most_h is None
    assert regions.rules("trade", "scotland").reheat.c == 82.0  # SI 1995/2200, regulation 14
    assert regions.rules("home", "us").reheat.c == pytest.approx((165 - 32) / 1.8, abs=0.05)


@pytest.mark.parametrize(("use", "region"), ALL)
def test_every_rule_names_its_source_or_the_authority_and_none_of_another_region(use: str, region: str) -> None:
    found = regions.rules(use, region)
    words = " ".join(f"{render(one.text, Reader('C'))} ({one.source})" for one in listed(found))
    assert all(one.source for one in listed(found))
    american = re.search(r"USDA|FDA|FSIS|CFR|WAC|US\b|Washington", words)
    assert bool(american) == (region == "us"), words
    assert ("BfR" in words) == (region == "de") and ("Lebensmittelbuch" in words) == (region == "at" and use == "trade")
    assert "Food Hygiene" not in words or region in ("uk", "scotland")
    if region in ("eu", "other"):
        assert "ask your authority" in found.hold.source


@pytest.mark.parametrize(
    ("use", "region", "source"),
    [
        ("trade", "uk", "Food Hygiene Regulations, schedule 4, paragraph 6"),
        ("trade", "scotland", "The Food Hygiene (Scotland) Regulations 2006, schedule 4, paragraph 2"),
        (
            "home",
            "uk",
            "Food Hygiene Regulations, schedule 4, paragraph 6: the law of the trade, taken for homes, too",
        ),
        ("trade", "eu", regions.EU_LAW),
        ("home", "other", regions.ASK),
    ],
)
def test_where_the_limit_of_the_hot_hold_stands(use: str, region: str, source: str) -> None:
    assert regions.rules(use, region).hold.source == source


def test_an_unknown_region_is_refused() -> None:
    with pytest.raises(ValueError, match="us, uk, scotland"):
        regions.rules("trade", "moon")
    with pytest.raises(ValueError, match="home or trade"):
        regions.rules("ship", "us")


def test_cautions_for_what_the_piece_is() -> None:
    us, uk = regions.rules("trade", "us"), regions.rules("trade", "uk")
    assert regions.cautions(us, True, 5.5, come_up_h=3.0, probe_c=96.0) == []
    assert regions.cautions(us, False, 5.5, come_up_h=3.0, probe_c=96.0) == [safety.NOT_INTACT]
    assert safety.COME_UP in regions.cautions(us, True, 5.5, hours=7.0)
    assert safety.COME_UP in regions.cautions(us, True, 5.5, come_up_h=6.5)
    assert safety.LETHALITY in regions.cautions(us, True, 5.5, come_up_h=3.0, probe_c=62.0)
    assert regions.cautions(us, True, 3.0, trade=True, come_up_h=3.0, probe_c=96.0) == [safety.DRY_OVEN]
    assert regions.cautions(uk, True, 3.0, trade=True, come_up_h=3.0, probe_c=62.0) == []  # neither is of the UK
