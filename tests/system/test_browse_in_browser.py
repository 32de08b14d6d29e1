"""The laboratory's page in a real browser: Chromium, driven by playwright, checked by axe.

One browser serves all tests. It runs without its sandbox, which root and containers cannot have;
it opens nothing but our own pages.
"""

import importlib.util
import re
import shutil
import subprocess
import sys
import threading
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from ramphold.collector.archive import open_archive
from ramphold.collector.direct_filing import file_directly, work_out_results
from ramphold.store import Store
from ramphold.wire import pack_envelope, topic
from support.benches import FilledBench

playwright = pytest.importorskip("playwright.sync_api", reason="needs playwright: extra dev")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium here: apt-get install chromium"),
]
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage"]
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'{{7*7}}\u202eevil"
#: 2026-11-20
FILED = 1_795_132_800 * 10**9
PATIENCE_MS = 20_000
#: How axe calls what keeps people from using a page.
GRAVE = ("serious", "critical")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDE, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(autouse=True)
def nothing_stays_behind():
    """As everywhere, but for the browser's own task, which lives as long as this module."""
    before = set(threading.enumerate())
    yield
    assert set(threading.enumerate()) <= before


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    """A sample of 80 readings/s for four minutes, one of a hostile client, two of control sand."""
    folder = tmp_path_factory.mktemp("browser")
    path = folder / "bench.sqlite"
    bench = FilledBench(path, per_s=80, noise_lbf=8.0)
    bench.certify()
    bench.sample("26-0417", stresses=[4000.0], replicates=2)
    bench.per_s = 5
    bench.sample("26-0418", stresses=[4000.0], replicates=1, reference=HOSTILE)
    for number in ("C-1", "C-2"):
        bench.sample(number, stresses=[4000.0], replicates=1, role="control", reference="control")
    bench.close()
    with Store.read(path) as store, open_archive(str(folder / "archive.db")) as opened:
        packed = [
            pack_envelope(store.outbox.envelope("p1", n))
            for n in range(1, store.records.newest() + 1)
        ]
        file_directly(opened, [(topic("p1", "record"), one) for one in packed], FILED)
        work_out_results(opened)
    return folder / "archive.db"


@pytest.fixture(scope="module")
def site(archive):
    """The address of the program, which serves that archive."""
    command = [sys.executable, "-m", "ramphold.cli", "browse", "--archive", archive, "--port", "0"]
    with subprocess.Popen([*map(str, command)], stdout=subprocess.PIPE, text=True) as process:
        yield process.stdout.readline().strip().removeprefix("the laboratory's page: ").rstrip("/")
        process.terminate()


@pytest.fixture(scope="module")
def browser():
    with playwright.sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield found
        found.close()


class Visit:
    """A page in a window of its own; all that it asked for, and all that went wrong in it."""

    def __init__(self, browser, site, **how):
        self.site = site
        self.context = browser.new_context(**({"viewport": WIDE} | how))
        self.context.set_default_timeout(PATIENCE_MS)
        self.page = self.context.new_page()
        self.hosts, self.troubles = set(), []
        self.page.on("request", lambda one: self.hosts.add(urlsplit(one.url).netloc))
        self.page.on("pageerror", lambda one: self.troubles.append(str(one)))
        self.page.on("dialog", lambda one: (self.troubles.append("a dialog"), one.dismiss()))
        self.page.on(
            "console", lambda m: self.troubles.append(m.text) if m.type == "error" else None
        )

    def open(self, path=""):
        answer = self.page.goto(f"{self.site}/laboratory{path}", wait_until="load")
        assert answer.status == 200
        return self.page

    def drawn(self, path):
        """Open a run and wait until its figure is drawn."""
        page = self.open(path)
        page.wait_for_selector("#trace[data-drawn-ms]")
        return page


@pytest.fixture
def visit(browser, site):
    """Opens windows; at the end, each has asked us alone, and nothing went wrong in any."""
    opened = []

    def new(**how):
        opened.append(Visit(browser, site, **how))
        return opened[-1]

    yield new
    for one in opened:
        one.context.close()
        assert one.hosts == {urlsplit(site).netloc}
        assert one.troubles == []


@pytest.fixture(scope="module")
def paths(archive):
    """Every kind of page."""
    with open_archive(str(archive), read_only=True) as opened:
        series = opened.benches()[0].series
    sample, run = f"/samples/{series}/1", f"/runs/{series}/1"
    return {
        "benches": "", "samples": "/samples", "work": "/work", "over time": "/over-time",
        "sample": sample, "verify": f"{sample}/verify", "run": run, "runs": f"{run}?with=2",
    }  # fmt: skip


def axe():
    """The source of axe, out of the package that carries it."""
    package = importlib.util.find_spec("axe_playwright_python")
    if package is None:
        pytest.skip("needs axe-playwright-python: extra dev")
    return (Path(package.origin).parent / "axe.min.js").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("look", "rules", "without"),
    [
        ("light", {"type": "tag", "values": TAGS}, ()),
        # Nothing but colours differs in the dark, and of a report not even those.
        ("dark", {"type": "rule", "values": ["color-contrast"]}, ("sample", "runs")),
    ],
)
def test_axe_finds_nothing_serious_on_any_page(visit, paths, look, rules, without):
    source, found = axe(), {}
    window = visit(color_scheme=look)
    for name in paths.keys() - set(without):
        page = window.open(paths[name])
        page.evaluate(source)  # by the debugger, since the page's own policy allows no such script
        report = page.evaluate(
            "rules => axe.run(document, { runOnly: rules, resultTypes: ['violations'] })", rules
        )
        assert report["passes"], "axe has looked at nothing"
        found[name] = [
            (one["id"], node["target"], node["failureSummary"])
            for one in report["violations"]
            if one["impact"] in GRAVE
            for node in one["nodes"]
        ]
    assert {name: one for name, one in found.items() if one} == {}


def test_axe_is_heard_where_something_is_wrong(visit, paths):
    page = visit().open(paths["samples"])
    page.evaluate("document.querySelector('label').remove()")
    page.evaluate(axe())
    report = page.evaluate("axe.run()")
    assert "label" in {one["id"] for one in report["violations"] if one["impact"] in GRAVE}


def test_on_a_telephone_only_tables_are_wider_and_the_keyboard_reaches_them(visit, paths):
    window = visit(viewport=PHONE)
    for name, path in paths.items():
        page = window.open(path)
        assert (name, page.evaluate("document.documentElement.scrollWidth")) == (name, 390)
        unreached = page.evaluate(
            "[...document.querySelectorAll('main *')].filter((one) => one.tabIndex < 0"
            " && getComputedStyle(one).overflowX === 'auto' && one.scrollWidth > one.clientWidth)"
            ".map((one) => one.outerHTML.slice(0, 80))"
        )
        assert (name, unreached) == (name, [])


def test_on_paper_a_run_has_the_figures_of_the_report_and_its_sample_but_no_buttons(visit, paths):
    page = visit().drawn(paths["runs"])
    page.emulate_media(media="print")
    assert page.locator("#still svg").first.is_visible()
    assert page.get_by_text("Sample 26-0417").is_visible()
    for hidden in ("#trace", ".bar", "button", "form"):
        assert not any(one.is_visible() for one in page.locator(hidden).all())


def test_without_a_script_every_page_says_what_it_has_to(visit, paths):
    window = visit(java_script_enabled=False)
    for path in paths.values():
        assert window.open(path).locator("main").inner_text().strip()
    page = window.open(paths["runs"])
    assert page.locator("#still svg").count() == 2
    assert page.locator("#still svg").first.is_visible()
    assert page.locator("#trace").is_hidden()


def test_a_filter_is_followed_by_keyboard_alone(visit, paths):
    page = visit().open(paths["samples"])
    assert page.locator("tbody tr").count() == 4
    field = page.get_by_label("Number or client reference begins with")
    field.focus()
    page.keyboard.type("26-0418")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("begins=26-0418"))
    assert page.locator("tbody tr").count() == 1
    page.locator("tbody a").focus()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/samples/[0-9a-f]{32}/2"))


def test_the_first_key_leads_to_the_content(visit, paths):
    page = visit().open(paths["samples"])
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Enter")
    assert page.url.endswith("#content")


def test_a_hostile_name_is_text_on_every_page(visit, paths):
    window = visit()
    for path in (paths["samples"], paths["work"], paths["over time"], paths["sample"][:-1] + "2"):
        page = window.open(path)
        assert page.locator("main img, main script").count() == 0
    assert "<script>alert(1)</script>" in page.locator("main").inner_text()


def test_a_report_and_the_readings_are_downloaded(visit, paths):
    page = visit(accept_downloads=True).open(paths["sample"])
    with page.expect_download() as report:
        page.get_by_role("link", name="HTML", exact=True).click()
    assert report.value.suggested_filename == "p1-1-26-0417-draft.html"
    assert "26-0417" in Path(report.value.path()).read_text(encoding="utf-8")
    page.goto(page.url.split("/samples")[0] + paths["run"])
    with page.expect_download() as readings:
        page.get_by_role("link", name="Readings, CSV").click()
    lines = Path(readings.value.path()).read_text(encoding="utf-8").splitlines()
    assert readings.value.suggested_filename == "p1-run-1.csv"
    assert len(lines) > 19_200


def test_a_run_of_four_minutes_is_drawn_within_200_ms_of_its_page(visit, paths):
    window = visit()
    took_ms = []
    for _ in range(4):  # the machine may be busy with something else
        page = window.drawn(paths["run"])
        took_ms.append(
            page.evaluate(
                "Number(document.getElementById('trace').dataset.drawnMs)"
                " - performance.getEntriesByType('navigation')[0].loadEventEnd"
            )
        )
    assert min(took_ms) < 200


def test_the_first_paint_is_there_within_a_second(visit, paths):
    window = visit()
    for path in paths.values():
        took_ms = []
        for _ in range(2):
            page = window.open(path)
            while not (paints := page.evaluate("performance.getEntriesByType('paint')")):
                page.wait_for_timeout(20)
            took_ms.append(paints[0]["startTime"])
        assert min(took_ms) < 1000


def seen_window(page):
    return [float(one) for one in page.locator("#trace").get_attribute("data-window").split()]


def test_dragging_over_the_figure_zooms_until_every_reading_is_drawn(visit, paths):
    page = visit().drawn(paths["run"])
    trace = page.locator("#trace")
    assert trace.get_attribute("data-thinned") == "true"
    box = page.locator(".u-over").bounding_box()
    y = box["y"] + box["height"] / 2
    for _ in range(2):
        page.mouse.move(box["x"] + box["width"] * 0.4, y)
        page.mouse.down()
        page.mouse.move(box["x"] + box["width"] * 0.6, y, steps=4)
        page.mouse.up()
        page.wait_for_selector("#trace[data-window]")
    page.wait_for_selector("#trace[data-thinned=false]")
    begin_s, end_s = seen_window(page)
    assert 0 < end_s - begin_s < 60
    page.mouse.dblclick(box["x"] + 10, y)
    page.wait_for_selector("#trace[data-thinned=true]")


def test_the_mark_tells_time_load_stress_and_quality_of_the_reading_by_keyboard_too(visit, paths):
    page = visit().drawn(paths["runs"])
    box = page.locator(".u-over").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.8, box["y"] + 40)
    rows = page.locator("#at-mark tbody tr")
    assert rows.count() == 2
    for row in range(2):
        t_s, lbf, psi, quality = rows.nth(row).locator("td").all_inner_texts()
        assert 150 < float(t_s) < 250
        assert float(psi.replace(",", "")) == pytest.approx(4000, abs=80)
        assert float(lbf.replace(",", "")) / 3.14159 == pytest.approx(4000, abs=80)
        assert quality == "good"
    before = rows.first.inner_text()
    page.locator(".plot").focus()
    for _ in range(3):
        page.keyboard.press("Shift+ArrowLeft")
    assert rows.first.inner_text() != before
    page.keyboard.press("+")
    page.wait_for_selector("#trace[data-window]")
    was = page.locator("#trace").get_attribute("data-window")
    begin_s, end_s = seen_window(page)
    assert end_s - begin_s < 150
    page.keyboard.press("Home")
    page.wait_for_selector(f"#trace:not([data-window='{was}'])")
    begin_s, end_s = seen_window(page)
    assert end_s - begin_s > 200


def test_a_run_without_readings_is_not_said_to_be_drawn(visit, paths):
    window = visit()

    def emptied(route):
        body = route.fetch().json() | {"t_s": [], "lbf": [], "quality": [], "there": 0}
        route.fulfill(json=body | {"thinned": False})

    window.page.route("**/runs/*/1/readings.json*", emptied)
    told = window.drawn(paths["run"]).locator("span[data-thinned]").inner_text()
    assert told == "Of run 1 no reading can be shown."
    told = window.drawn(paths["runs"]).locator("span[data-thinned]").inner_text()
    assert told.startswith("Of run 1 no reading can be shown. Of all readings,")
