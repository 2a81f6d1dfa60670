"""The sheet in a real Chromium, without a screen: it opens in silence, filters, sorts, fits a phone, and prints."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright: pip install 'poise[test]'")
CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
pytestmark = pytest.mark.skipif(not CHROMIUM, reason="no Chromium to open the sheet in: apt-get install chromium")

WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 390, "height": 844}
CONTRAST = """() => {
  const light = text => { const [r, g, b] = text.match(/[0-9.]+/g).map(Number).map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
  const ground = element => { for (let e = element; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor; if (c !== "rgba(0, 0, 0, 0)") return c } return "rgb(9, 9, 9)" }
  let least = [99, ""];
  for (const e of document.querySelectorAll("p, td, th, dd, dt, h1, h2, h3, h4, small, em, b, label, i, li")) {
    if (!e.textContent.trim()) continue;
    const [one, other] = [light(getComputedStyle(e).color), light(ground(e))].sort((a, b) => b - a);
    const ratio = (one + 0.05) / (other + 0.05);
    if (ratio < least[0]) least = [ratio, e.tagName + "." + e.className + " " + e.textContent.slice(0, 20)];
  }
  return least;
}"""
"""WCAG 2.2, contrast ratio, of every text against what it stands on; the least."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as play:
        options = ["--no-sandbox"] if os.geteuid() == 0 else []
        made = play.chromium.launch(executable_path=CHROMIUM, args=options)
        yield made
        made.close()


@pytest.fixture
def opened(browser: Any, sheet: Path) -> Iterator[Callable[..., Any]]:
    """Opens the sheet; at the end nothing may have been asked for but the file, and nothing said."""
    said: list[str] = []
    contexts = []

    def page(size: dict[str, int], scheme: str = "light", script: bool = True) -> Any:
        context = browser.new_context(viewport=size, color_scheme=scheme, java_script_enabled=script)
        contexts.append(context)
        made = context.new_page()
        made.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        made.on("pageerror", lambda fault: said.append(f"error: {fault}"))
        made.on("request", lambda asked: said.append(asked.url) if not asked.url.startswith("data:") else None)
        made.goto(sheet.as_uri())
        return made

    yield page
    assert set(said) == {sheet.as_uri()}
    for context in contexts:
        context.close()


def names(page: Any) -> list[str]:
    """The shots in sight, from top to bottom, by what the browser lays out."""
    found = page.eval_on_selector_all(
        "article", "all => all.filter(e => e.offsetHeight).map(e => [e.getBoundingClientRect().top, e.dataset.name])"
    )
    assert found == sorted(found)
    return [name for _, name in found]


def test_filters_and_sorts_by_mouse_and_keyboard(opened: Callable[..., Any]) -> None:
    page = opened(WIDE)
    reel = names(page)
    assert len(reel) == 13
    page.get_by_label("find").fill("QUAY lamp")
    assert names(page) == ["quay_2.png"]  # of all words, the second is in its note
    assert page.locator("output").inner_text() == "1 of 13 shots"
    page.get_by_label("find").fill("")
    page.get_by_label("state").select_option("skipped")
    assert names(page) == ["quay_3.png"]
    page.get_by_label("state").select_option("all")
    page.get_by_label("with faults only").check()
    assert {"cut.png", "quay_4.png"} <= set(names(page)) < set(reel)
    page.get_by_label("with faults only").uncheck()
    assert names(page) == reel
    whites = page.eval_on_selector_all("article", "all => all.map(e => [e.dataset.name, e.dataset.white])")
    known = sorted((float(white), place) for place, (_, white) in enumerate(whites) if white)
    page.get_by_label("sort by").select_option("white")
    assert names(page) == [*(whites[place][0] for _, place in known), "cut.png"]
    page.get_by_label("largest first").check()
    again = sorted(known, key=lambda one: (-one[0], one[1]))
    assert names(page) == [*(whites[place][0] for _, place in again), "cut.png"]  # unknown stays last
    page.reload()  # the browser may keep what was chosen, and the order must be what the controls say
    page.get_by_label("sort by").select_option("place")
    page.get_by_label("largest first").uncheck()
    assert names(page) == reel
    page.get_by_label("find").focus()
    page.keyboard.type("dot")
    assert names(page) == ["dot.png"]
    page.keyboard.press("Enter")  # must not send the form and open another page
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert page.evaluate("document.activeElement.id") == "faulty"
    assert page.get_by_label("with faults only").is_checked()


def figures_stand_at_their_levels(page: Any) -> None:
    """The graticule against the plots, as they are laid out."""
    places = page.eval_on_selector_all(
        "article .scope",
        "all => all.map(e => { const plot = e.querySelector('img').getBoundingClientRect();"
        " return [...e.querySelectorAll('i')].map(i => [Number(i.textContent),"
        " (i.getBoundingClientRect().top - plot.top) / plot.height]) })",
    )
    assert len(places) == 2 * (12 + 3)  # of twelve shots waveform and parade, of three of them after as well
    for scope in places:
        assert [figure for figure, _ in scope] == [100, 75, 50, 25, 0]
        for figure, share in scope:
            assert share == pytest.approx((105 - figure) / 110, abs=0.006)  # the scale of EBU R 103


def test_it_fits_a_phone_and_a_desk_in_light_and_dark(opened: Callable[..., Any]) -> None:
    for size in (WIDE, NARROW):
        grounds = set()
        for scheme in ("light", "dark"):
            page = opened(size, scheme)
            wide = page.evaluate("[document.documentElement.scrollWidth, document.body.scrollWidth]")
            assert max(wide) <= size["width"]
            over = page.eval_on_selector_all(
                "main *",
                "(all, edge) => all.filter(e => !e.closest('.strips')"
                " && e.getBoundingClientRect().right > edge + 1).map(e => e.outerHTML.slice(0, 80))",
                size["width"],
            )
            assert over == []
            assert (
                page.eval_on_selector_all("img", "all => all.filter(e => !e.complete || !e.naturalWidth).length") == 0
            )
            least, which = page.evaluate(CONTRAST)
            assert least >= 4.5, which  # WCAG 2.2, success criterion 1.4.3
            figures_stand_at_their_levels(page)
            grounds.add(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        assert grounds == {"rgb(243, 241, 236)", "rgb(15, 19, 21)"}


@pytest.mark.thorough
def test_without_scripts_and_on_paper_all_is_there(opened: Callable[..., Any], tmp_path: Path) -> None:
    page = opened(WIDE, "dark", script=False)
    assert page.locator("article").count() == 13
    assert not page.locator("form").is_visible()
    page.emulate_media(media="print")
    assert page.locator("body").evaluate("e => getComputedStyle(e).backgroundColor") == "rgb(255, 255, 255)"
    printed = page.pdf(prefer_css_page_size=True)
    assert b"/MediaBox [0 0 594.95996 841.91998]" in printed  # A4, ISO 216, in points
    assert printed.count(b"/Subtype /Image") >= 3 * 12
