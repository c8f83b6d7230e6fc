"""The report, opened by headless Chromium from a file: it is what lays out, measures and prints the page here."""

from __future__ import annotations

import base64
import dataclasses
import json
import math
import re
import shutil
import subprocess
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from insertgen.errors import OutputError
from insertgen.model.figures import Circle
from insertgen.model.finding import Finding, Severity
from insertgen.output.report_html import report_html
from insertgen.output.report_page import Spot, TrayPage
from insertgen.output.svg_path import path_data
from tests.test_output_drawings import bench, rack, rounded
from tests.test_output_stores import by_hand, corners, laser, posts, slots

MAKERS = (bench, rack, corners, slots, posts, by_hand, laser)

FINDINGS = (
    Finding("error-large", Severity.WARNING, "the outline of 03 may be 1.72 mm off", "trace it again", tray="sanding",
            placement="bench/03", at=(59.0, 180.0), figure=1.72, limit=1.5),
    Finding("web-thin", Severity.ERROR, "only 3.1 mm of wood", "move one of them", tray="sanding", file="sheet-1.dxf",
            layer="THROUGH", placement="bench/05", at=(100.0, 180.0), figure=3.1, limit=6.0, others=("bench/09",)),
)  # fmt: skip


def pages():
    made = []
    for make in MAKERS:
        drawing = make()
        slug = make.__name__.replace("_", "-")
        tray = dataclasses.replace(drawing.tray, slug=slug)
        spots = (Spot("least web", 15.0, (99.0, 185.0), (112.0, 185.0)), Spot("least gap", 0.1, (1.0, 1.0), (1.1, 1.0)))
        made.append(TrayPage(dataclasses.replace(drawing, tray=tray), spots if make is bench else (), (f"{slug}/sheet-1.dxf",)))
    return made


def report(found=FINDINGS):
    made = pages()
    codes = tuple(dict.fromkeys(code for page in made for code in page.drawing.cautions))
    return report_html("north bench", made, found, codes, "1.2.3")


# ---- without a browser ------------------------------------------------------------------------


class _Tags(HTMLParser):
    """Every start tag, and whether what is opened is closed in its turn."""

    VOID = frozenset({"meta", "link", "br"})

    def __init__(self):
        super().__init__()
        self.open, self.seen, self.ids = [], [], []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))
        self.ids += [value for name, value in attrs if name == "id"]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def tags(html):
    parser = _Tags()
    parser.feed(html)
    parser.close()
    assert parser.open == []
    return parser


def test_well_formed_with_headings_heads_and_names():
    parser = tags(report())
    assert len(parser.ids) == len(set(parser.ids))
    levels = [int(tag[1]) for tag, _ in parser.seen if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    kinds = [tag for tag, _ in parser.seen]
    assert kinds.count("table") == kinds.count("thead")
    assert all(attrs["scope"] == "col" for tag, attrs in parser.seen if tag == "th")
    plans = [attrs for tag, attrs in parser.seen if tag == "svg"]
    assert kinds.count("desc") == len(plans)
    assert all(attrs["aria-labelledby"] in parser.ids for attrs in plans)
    items = [attrs for tag, attrs in parser.seen if tag == "g" and attrs.get("class", "").startswith("item")]
    assert all(attrs["tabindex"] == "0" and attrs["aria-label"] for attrs in items)


def test_nothing_is_fetched_and_nothing_tells_when_or_where():
    html = report()
    assert html == report()
    for tag, attrs in tags(html).seen:
        assert "src" not in attrs
        assert tag not in ("iframe", "object", "img", "style" if attrs else "")
        link = attrs.get("href") or ""
        assert link.startswith("#") or link in ("", "data:,") or re.fullmatch(r"[a-z-]+/sheet-1\.dxf", link), link
    assert "http:" not in html
    assert "https:" not in html
    assert not re.search(r"(?<![\w.-])/(work|tmp|home|root)\b|20\d\d-\d\d", html)


def test_no_word_of_the_job_becomes_a_tag():
    wild = "<script>alert('1')</script> & \"two\" </style>"
    drawing = posts()
    mark = dataclasses.replace(drawing.marks[0], label=wild, size=wild)
    tray = dataclasses.replace(drawing.tray, name=wild)
    page = TrayPage(dataclasses.replace(drawing, tray=tray, marks=(mark, *drawing.marks[1:])), (Spot(wild, 1.0, (0, 0), (1, 1)),), (wild,))
    finding = Finding("overlap", Severity.ERROR, wild, wild, tray=tray.slug, placement=wild, at=(5.0, 5.0))
    parser = tags(report_html(wild, [page], [finding], ["always"], wild))
    assert [tag for tag, _ in parser.seen].count("script") == 1


def test_errors_come_first_and_all_is_said():
    html = report()
    assert html.index("web-thin") < html.index("error-large")
    for part in ("move one of them", "found 3.1, limit 6", "layer THROUGH", "at x 100, y 180 mm", "1 to mend, 1 to look at"):
        assert part in html
    assert "Nothing to mend" in report(())
    with pytest.raises(OutputError, match="unknown"):
        report_html("x", [], [], ["no-such"], "1")


def test_every_view_is_there_without_the_script():
    parser = tags(report())
    views = [attrs for _, attrs in parser.seen if attrs.get("class") == "view"]
    assert all("hidden" not in attrs for attrs in views)
    names = {attrs["id"] for attrs in views}
    assert {"slots-base", "by-hand-template-1", "by-hand-template-2", "laser-sheet-3", "bench-tray", "bench-sheet-1"} <= names


# ---- in the browser ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """Chromium with the report open; its absence fails the tests, as it should."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert chromium, "install the Debian package chromium"
    assert driver, "install the Debian package chromium-driver"
    folder = tmp_path_factory.mktemp("report")
    file = folder / "report.html"
    file.write_text(report(), encoding="utf-8")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
                     "--disable-component-update", "--disable-sync", f"--user-data-dir={folder / 'profile'}"):  # fmt: skip
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    chrome = webdriver.Chrome(options=options, service=Service(driver))
    try:
        chrome.file = file
        open_at(chrome, 1280)
        yield chrome
    finally:
        chrome.quit()


def open_at(browser, width):
    metrics = {"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get(browser.file.as_uri())


def requested(browser) -> set[str]:
    """Addresses that the report's own page asked for."""
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    sent = [message["params"] for message in messages if message["method"] == "Network.requestWillBeSent"]
    return {one["request"]["url"] for one in sent if one["documentURL"].startswith("file:")}


@pytest.mark.parametrize("width", [360, 390, 1280])
def test_no_error_no_request_and_nothing_wider_than_the_screen(browser, width):
    open_at(browser, width)
    browser.execute_script("for (const tab of document.querySelectorAll('[role=tab]')) tab.click()")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    wide = browser.execute_script(
        "return [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1"
        " && getComputedStyle(e).position !== 'absolute' && !e.closest('svg, thead')).map(e => e.outerHTML.slice(0, 80))"
    )
    assert wide == []
    assert browser.get_log("browser") == []
    assert {url for url in requested(browser) if not url.startswith("data:")} == {browser.file.as_uri()}


def test_letters_can_be_read_on_a_phone(browser):
    open_at(browser, 360)
    for make in (bench, rack, posts):
        size = browser.execute_script(
            "const t = document.querySelector(`#${arguments[0]}-tray text.tag`); const s = t.ownerSVGElement;"
            "return parseFloat(getComputedStyle(t).fontSize) * s.getBoundingClientRect().width / s.viewBox.baseVal.width",
            make.__name__,
        )
        assert size >= 7.0  # px: common practice, no source
    # a finger is broader than a mouse: 24 px is the least of WCAG 2.2, success criterion 2.5.8
    heights = browser.execute_script("return [...document.querySelectorAll('button')].filter(b => b.offsetParent).map(b => b.offsetHeight)")
    assert min(heights) >= 24


@pytest.mark.parametrize("make", MAKERS)
def test_everything_is_drawn_to_one_scale_where_it_lies(browser, make):
    drawing, slug = make(), make.__name__.replace("_", "-")
    boxes = browser.execute_script(
        "const svg = document.getElementById(arguments[0] + '-tray').querySelector('svg'), v = svg.viewBox.baseVal;"
        "const box = e => { const b = e.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height]; };"
        "return {bar: box(svg.querySelector('.bar')), ratio: svg.preserveAspectRatio.baseVal.align, ctm: [svg.getCTM().a, svg.getCTM().d],"
        "items: Object.fromEntries([...svg.querySelectorAll('.item')].map(g => [g.dataset.id, box(g.querySelector('.body, .bored'))]))}",
        slug,
    )
    assert boxes["bar"][2] - boxes["bar"][0] in (50.0, 100.0)
    assert boxes["ratio"] == 6  # SVG 2: xMidYMid, the same scale both ways
    assert len(boxes["items"]) == len(drawing.marks)
    # the wood's back edge is one text's height below the top of the figure; all else is measured from it
    top = {mark.placement: boxes["items"][mark.placement][1] + max(y for _, y in mark.outline.outer) for mark in drawing.marks}
    assert max(top.values()) - min(top.values()) < 0.02
    for mark in drawing.marks:
        xs, ys = zip(*mark.outline.outer, strict=True)
        back = min(top.values())
        assert boxes["items"][mark.placement] == pytest.approx([min(xs), back - max(ys), max(xs), back - min(ys)], abs=0.02)


def test_arcs_are_as_long_and_as_wide_as_they_must_be(browser):
    def measured(path):
        return browser.execute_script(
            "const p = document.createElementNS('http://www.w3.org/2000/svg', 'path'); p.setAttribute('d', arguments[0]);"
            "const s = document.querySelector('svg'); s.append(p); const b = p.getBBox(), l = p.getTotalLength(); p.remove();"
            "return [b.x, b.y, b.width, b.height, l]",
            path_data(path, 100.0),
        )

    # closed forms: circumference pi d; a rectangle with round corners 2 (w + d) - 8 r + 2 pi r
    assert measured(Circle((30.0, 40.0), 50.0)) == pytest.approx([5, 35, 50, 50, math.pi * 50], abs=0.05)
    box = [10, 50, 60, 30, 2 * (60 + 30) - 8 * 7 + 2 * math.pi * 7]
    assert measured(rounded(10.0, 20.0, 70.0, 50.0, 7.0)) == pytest.approx(box, abs=0.05)


def test_sheets_are_shown_one_by_one(browser):
    open_at(browser, 1280)
    tray = browser.find_element(By.ID, "by-hand")
    tabs = tray.find_elements(By.CSS_SELECTOR, "[role=tab]")
    assert [tab.text for tab in tabs] == ["Tray", "Cuts", "Template 1", "Template 2"]
    views = tray.find_elements(By.CSS_SELECTOR, ".view")
    assert [view.is_displayed() for view in views] == [True, False, False, False]
    browser.execute_script("arguments[0].click()", tabs[2])
    assert [view.is_displayed() for view in views] == [False, False, True, False]
    assert tabs[2].get_attribute("aria-selected") == "true"
    tabs[2].send_keys(Keys.ARROW_RIGHT)
    assert [view.is_displayed() for view in views] == [False, False, False, True]
    assert browser.switch_to.active_element == tabs[3]


def test_an_item_says_who_it_is_when_it_is_touched_or_reached(browser):
    open_at(browser, 390)
    tray = browser.find_element(By.ID, "posts")
    said, item = tray.find_element(By.CLASS_NAME, "said"), tray.find_element(By.CSS_SELECTOR, '.item[data-id="t/04"]')
    home = said.text
    browser.execute_script("arguments[0].focus()", item)
    for part in ("04 bearing 608", "8 mm bore", "15 mm (19/32 in) deep", "on a peg: dowel 1/4 in x 40 mm"):
        assert part in said.text
    browser.execute_script("arguments[0].blur()", item)
    assert said.text == home
    button = tray.find_element(By.CSS_SELECTOR, 'button.tag[data-show="t/01"]')
    browser.execute_script("arguments[0].click()", button)
    assert "01 ring wrench 3/4 in" in said.text
    assert "lies between posts" in said.text
    lit = tray.find_elements(By.CSS_SELECTOR, ".item.on")
    assert {one.get_attribute("data-id") for one in lit} == {"t/01"}
    browser.execute_script("arguments[0].click()", button)
    assert said.text == home


def test_printed_on_a4_all_drawings_and_tables_are_there(browser, tmp_path: Path):
    open_at(browser, 1280)
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 210 / 25.4, "paperHeight": 297 / 25.4})
    file = tmp_path / "report.pdf"
    file.write_bytes(base64.b64decode(printed["data"]))
    said = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, check=True, text=True).stdout
    info = subprocess.run(["pdfinfo", str(file)], capture_output=True, check=True, text=True).stdout
    wide, high = map(float, re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups())
    assert (wide / 72 * 25.4, high / 72 * 25.4) == pytest.approx((210, 297), abs=0.5)
    views = sum(1 + len(one.drawing.sheets) + bool(one.drawing.base) + len(one.drawing.templates) for one in pages())
    assert len(re.findall(r"^\s*front edge\s*$", said, re.MULTILINE)) == views
    assert "Hover over an item" not in said
    for part in ("Cut list", "Drill-hole schedule", "Router template 2, dashed: the blank", "Before you cut", "web-thin"):
        assert part in said
