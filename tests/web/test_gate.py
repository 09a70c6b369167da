"""Hostile requests: another site's page, a name that is not ours, too much, too often, without being paired."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import re
from pathlib import Path
from typing import Any

import pytest
from tuyere.web import gate, reach
from tuyere.web.site import COOKIE, DEEDS, PAIRINGS, STREAMS_EACH, zone_of
from web_kit import HOST, ORIGIN, Page


@pytest.fixture
def page(tmp_path: Path) -> Page:
    return Page(tmp_path)


OPEN = ["/", "/pair", "/page.js", "/icon.svg", "/page.webmanifest"]
CLOSED = ["/events", "/trend.svg", "/report", "/notes"]


@pytest.mark.parametrize("where", OPEN)
def test_what_anybody_may_load_holds_nothing_of_the_cook(page: Page, where: str) -> None:
    answer = page.get(where, token=None)
    assert answer.status == 200
    for secret in (b"Saturday", b"Big flat", page.token.encode(), b"logbook"):
        assert secret not in answer.body
    assert b"http://" not in answer.body.replace(b"http://www.w3.org/2000/svg", b"") and b"https://" not in answer.body


@pytest.mark.parametrize("where", CLOSED)
@pytest.mark.parametrize("token", [None, "wrong", "x" * 3000])
def test_all_else_wants_a_paired_device(page: Page, where: str, token: str | None) -> None:
    answer = page.get(where, token=token)
    assert answer.status == 401 and b"Big flat" not in answer.body
    assert page.post("/do", {"do": "stop"}, token=token).status == 401 and page.engine.calls == []


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8424", "127.0.0.1", "127.0.0.1:80", "", None,
                                  "127.0.0.1:8424.evil.example", "[::1]:8424"])  # fmt: skip
@pytest.mark.parametrize("where", ["/", "/events", "/trend.svg"])
def test_another_name_gets_nothing(page: Page, host: str | None, where: str) -> None:
    """DNS rebinding: a page of evil.example whose name points at this computer."""
    answer = page.get(where, host=host)
    assert answer.status == 421 and b"Big flat" not in answer.body


def test_two_hosts_are_none(page: Page) -> None:
    assert page.get("/", headers=((b"host", b"evil.example"),)).status == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8424", "http://127.0.0.1:8425",
                                    "http://127.0.0.1:8424.evil.example", None])  # fmt: skip
def test_another_site_s_page_orders_nothing(page: Page, origin: str | None) -> None:
    for where, body in (("/do", {"do": "stop"}), ("/pair", {"code": page.devices.offer(), "name": "x"})):
        assert page.post(where, body, origin=origin).status == 403
    assert page.engine.calls == [] and len(page.devices.all()) == 1


@pytest.mark.parametrize("where", CLOSED)
def test_another_site_s_page_reads_nothing(page: Page, where: str) -> None:
    answer = page.get(where, headers=((b"origin", b"http://evil.example"),))
    assert answer.status == 403 and "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", "text/plain", "multipart/form-data", ""])
def test_a_plain_form_cannot_order(page: Page, kind: str) -> None:
    assert page.post("/do", {"do": "stop"}, kind=kind).status == 415 and page.engine.calls == []


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_methods_are_refused(page: Page, method: str) -> None:
    assert asyncio.run(page.ask(method, "/do")).status == 405


def test_an_order_does_not_go_by_get(page: Page) -> None:
    assert page.get("/do?do=stop").status == 405 and page.engine.calls == []


def test_a_long_request_is_cut_off(page: Page) -> None:
    answer = page.post("/do", b"[" + b" " * gate.LONGEST + b"]")
    assert answer.status == 413 and page.engine.calls == []


@pytest.mark.parametrize("where", ["/../web.json", "/static/page.js", "/%2e%2e/web.json", "//evil.example", "/web.json",
                                   "/engine.json", "/page.html", "/look.css"])  # fmt: skip
def test_no_other_file_is_served(page: Page, where: str) -> None:
    assert page.get(where).status == 404


def test_every_answer_has_the_strict_headers(page: Page) -> None:
    for answer in (page.get("/"), page.get("/none"), page.get("/", host="evil.example"), page.get("/trend.svg"),
                   page.post("/do", {"do": "x"}, origin="null")):  # fmt: skip
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy and "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
    assert page.get("/trend.svg").headers["cache-control"] == "no-store"


def test_the_only_style_is_the_one_that_the_policy_names(page: Page) -> None:
    answer = page.get("/")
    [style] = re.findall(rb"<style>(.*?)</style>", answer.body, re.S)
    digest = base64.b64encode(hashlib.sha256(style).digest()).decode()
    assert f"style-src 'sha256-{digest}';" in answer.headers["content-security-policy"]


def test_the_bare_page_has_no_script_in_it(page: Page) -> None:
    html = page.get("/").body.decode()
    assert not re.search(r"<script(?![^>]*src=)|\sstyle=|\son\w+=|javascript:", html)
    script = page.get("/page.js").body.decode()
    assert not re.search(r"innerHTML|outerHTML|insertAdjacent|document\.write|\beval\b|Function\(|\.style\b", script)


# -- pairing --------------------------------------------------------------------------------


def test_pairing_sets_a_cookie_that_no_script_and_no_other_site_gets(page: Page) -> None:
    answer = page.post("/pair", {"code": page.devices.offer(), "name": "Sofa"}, token=None)
    assert answer.status == 200 and answer.json == {"name": "Sofa", "look": False}
    cookie = answer.headers["set-cookie"].lower()
    assert cookie.startswith(COOKIE) and "httponly" in cookie and "samesite=strict" in cookie and "path=/" in cookie
    assert "secure" not in cookie
    token = answer.headers["set-cookie"].split("=", 1)[1].split(";")[0]
    assert page.get("/notes", token=token).status == 200


def test_a_device_that_is_paired_again_is_one_device(page: Page) -> None:
    """For example a look-only one that may do something from now on."""
    assert page.post("/pair", {"code": page.devices.offer(), "name": "b"}).status == 200
    assert [(one.id, one.name) for one in page.devices.all()] == [(2, "b")]
    assert page.get("/notes").status == 401  # the token it had is none any more


def test_under_tls_the_cookie_is_secure(tmp_path: Path) -> None:
    page = Page(tmp_path, scheme="https")
    answer = page.post("/pair", {"code": page.devices.offer()}, token=None, origin=f"https://{HOST}")
    assert "secure" in answer.headers["set-cookie"].lower()
    assert page.post("/pair", {"code": page.devices.offer()}, token=None, origin=ORIGIN).status == 403


def test_codes_are_tried_ten_times_a_minute(page: Page) -> None:
    right = page.devices.offer()
    most, span = PAIRINGS
    for _ in range(most):
        assert page.post("/pair", {"code": "AAAAA-AAAAA"}, token=None).status == 403
    assert page.post("/pair", {"code": right}, token=None).status == 429
    page.clock.on(span + 1)
    assert page.post("/pair", {"code": right}, token=None).status == 200


@pytest.mark.parametrize("body", [b"{}", b"[]", b'{"code": 5}', b'{"code": "x", "look": false}', b'"'])
def test_a_pairing_that_is_none(page: Page, body: bytes) -> None:
    assert page.post("/pair", body, token=None).status == 400


def test_a_full_house_says_so(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tuyere.web.devices.MOST", 1)
    answer = page.post("/pair", {"code": page.devices.offer()}, token=None)
    assert answer.status == 409 and "--withdraw" in answer.words


# -- too much ---------------------------------------------------------------------------------


def test_one_device_does_so_much_a_minute(page: Page) -> None:
    most, span = DEEDS
    for _ in range(most):
        assert page.do(do="awake").status == 200
    assert page.do(do="awake").status == 429
    page.clock.on(span + 1)
    assert page.do(do="awake").status == 200


def test_one_device_has_so_many_pages_open_and_the_oldest_makes_room(page: Page) -> None:
    """Also where all of them ask in the same moment. One that a phone lost on its way is the oldest."""

    async def crowd() -> list[Any]:
        asked = [asyncio.create_task(page.ask("GET", "/events", chunks=10**9)) for _ in range(STREAMS_EACH + 3)]
        await asyncio.sleep(0.05)
        assert len(page.site._streams) == STREAMS_EACH
        page.site.close()
        return await asyncio.gather(*asked)

    found = asyncio.run(crowd())
    assert [one.status for one in found] == [200] * (STREAMS_EACH + 3)
    assert [b"event: crowded" in one.body for one in found] == [True] * 3 + [False] * STREAMS_EACH
    assert page.site._streams == {}


def test_so_many_pages_are_open_in_all(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tuyere.web.site.STREAMS", 2)

    async def crowd() -> list[int]:
        asked = [asyncio.create_task(page.ask("GET", "/events", chunks=10**9)) for _ in range(3)]
        await asyncio.sleep(0.05)
        page.site.close()
        return [one.status for one in await asyncio.gather(*asked)]

    assert asyncio.run(crowd()) == [200, 200, 429]


def test_one_report_is_made_at_a_time(page: Page) -> None:
    async def crowd() -> list[int]:
        made = page.site._report

        async def slow(*given: Any) -> bytes:
            await asyncio.sleep(0)
            return await made(*given)

        page.site._report = slow
        found = await asyncio.gather(*(page.ask("GET", "/report") for _ in range(3)))
        return [*(one.status for one in found), (await page.ask("GET", "/report")).status]

    assert asyncio.run(crowd()) == [200, 429, 429, 200] and len(page.reports) == 2


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/localtime", "x" * 100, "Europe/None", "\0", "", "Europe"])
def test_a_zone_that_is_none(name: str) -> None:
    assert zone_of(name) is None


def test_a_fault_in_one_request_is_a_sentence(page: Page, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def broken(*_: Any) -> bytes:
        raise ZeroDivisionError("a secret")

    monkeypatch.setattr(page.hub, "picture", broken)
    with pytest.raises(ZeroDivisionError):  # Starlette hands it on to the server's log after its answer
        page.get("/trend.svg")
    assert "a secret" in (tmp_path / "unexpected.log").read_text()


# -- where it is served ------------------------------------------------------------------------


def test_the_page_is_served_to_this_computer_until_asked() -> None:
    place = reach.place("", 8424)
    assert place.address == "127.0.0.1" and place.alone
    assert place.hosts == {"127.0.0.1:8424", "localhost:8424"} and place.url == "http://127.0.0.1:8424"


def test_an_address_of_the_home_network() -> None:
    place = reach.place("192.168.1.20", 8424, ["pit.local"])
    assert place.hosts == {"192.168.1.20:8424", "pit.local:8424"} and not place.alone
    assert reach.place("fe80::1", 8424).url == "http://[fe80::1]:8424"
    assert reach.place("192.168.1.20", 443, tls=True).hosts == {"192.168.1.20:443", "192.168.1.20"}


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "1.1.1.1", "2606:4700::1", "pit", "http://x", "127.0.0.1:80"])
def test_an_address_that_lets_the_world_in_or_is_none(address: str) -> None:
    with pytest.raises(ValueError):
        reach.place(address, 8424)


def test_behind_a_proxy_it_stays_on_this_computer() -> None:
    place = reach.place("", 8424, behind="https://Pit.example.org")
    assert (place.address, place.scheme, place.hosts) == ("127.0.0.1", "https", {"pit.example.org"})
    for given, host in (("https://pit.example.org:443", "pit.example.org"), ("http://[fd00::1]:80", "[fd00::1]"),
                        ("https://pit.example.org:8443", "pit.example.org:8443")):  # fmt: skip
        assert reach.place("", 8424, behind=given).hosts == {host}  # as a browser says it
    for wrong in ("pit.example.org", "ftp://x", "https://x/sub?y", "https://me@pit.example.org", "https://x/#y"):
        with pytest.raises(ValueError):
            reach.place("", 8424, behind=wrong)
