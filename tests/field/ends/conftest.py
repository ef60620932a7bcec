"""What the tests of the field share: a small order of our own invention, a plan, a clock that is set, a browser."""

import importlib.util
import os
import shutil
import tempfile
import uuid
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from antexp.field.facts import facts_of
from antexp.field.swap_list import read_swap_list
from antexp.plan.reader import plan_from_dict

# An invented day: four wires, two blocks, the reference at both ends of each.
SMALL_ORDER = """\
swap,block,position,minutes,word,candidate,specimen,place,role
1,1,1,0,banner,willow wire,1,1,reference
2,1,2,7,garlic,birch wire,1,1,candidate
3,1,3,14,tennis,cedar wire,1,1,candidate
4,1,4,21,tobacco,hazel wire,1,1,candidate
5,1,5,28,sketch,willow wire,1,1,reference
6,2,1,0,anchor,willow wire,1,1,reference
7,2,2,7,kiosk,hazel wire,1,1,candidate
8,2,3,14,camera,birch wire,1,1,candidate
9,2,4,21,koala,cedar wire,1,1,candidate
10,2,5,28,marble,willow wire,1,1,reference
"""
NAMES = ("willow wire", "birch wire", "cedar wire", "hazel wire")
CHROME_FLAGS = ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
                "--disable-component-update", "--disable-sync", "--no-first-run", "--window-size=420,1200")


def bare(order_text):
    """Return the reading end's file of an order."""
    return "".join(",".join(line.split(",")[:5]) + "\n" for line in order_text.splitlines())


@pytest.fixture
def order_csv(tmp_path):
    path = tmp_path / "order.csv"
    path.write_text(SMALL_ORDER, encoding="utf-8")
    (tmp_path / "order.reading-end.csv").write_text(bare(SMALL_ORDER), encoding="utf-8")
    return path


@pytest.fixture
def swaps(order_csv):
    return read_swap_list(order_csv)


@pytest.fixture(scope="session")
def plan():
    return plan_from_dict({"candidates": list(NAMES), "frequency_mhz": 14.2, "hours": 2, "matter_db": 1,
                           "meter": "spectrum analyser"})


@pytest.fixture(scope="session")
def facts(plan):
    return facts_of(plan)


class SetClock:
    """A clock that moves on by so many seconds each time it is asked."""

    def __init__(self, start="2026-05-01T09:30:00+02:00", step_s=20):
        self.now = datetime.fromisoformat(start)
        self.step = timedelta(seconds=step_s)

    def __call__(self):
        self.now += self.step
        return self.now


@pytest.fixture
def set_clock():
    return SetClock()


class Script:
    """Stands for the terminal: answers prompts from a list, keeps what was said."""

    def __init__(self, lines):
        self.lines = list(lines)
        self.said = []
        self.prompts = []

    def say(self, text):
        self.said.append(text)

    def ask(self, prompt):
        self.prompts.append(prompt)
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


@pytest.fixture
def script():
    return Script


def _binary(*names):
    return next((found for name in names if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def open_browser():
    """Return a function that starts Chromium with a given or a fresh profile; all are closed at the end."""
    browser, driver_path = _binary("chromium", "chromium-browser", "google-chrome"), _binary("chromedriver")
    if not browser or not driver_path:
        pytest.skip("no Chromium with its driver on this machine")
    from selenium import webdriver

    started, folders = [], []

    def start(profile=None):
        folder = profile or tempfile.mkdtemp(prefix="antexp-profile-")
        folders.append(folder)
        options = webdriver.ChromeOptions()
        options.binary_location = browser
        for flag in (*CHROME_FLAGS, f"--user-data-dir={folder}"):
            options.add_argument(flag)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver_path))
        started.append(driver)
        return driver

    yield start
    for driver in started:
        if not getattr(driver, "crashed", False):
            driver.quit()
    for folder in folders:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def browser(open_browser):
    """Return one browser for all tests of a session; each page has a record of its own by its order."""
    return open_browser()


@pytest.fixture(scope="session")
def rigctld():
    found = _binary("rigctld")
    if not found:
        pytest.skip("no rigctld on this machine (Debian package libhamlib-utils)")
    return Path(os.path.realpath(found))


def _module(name):
    """Load a module of this folder; the folder is no package, so that its files cannot clash with others."""
    spec = importlib.util.spec_from_file_location(f"ends_{name}", Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def hanging_day(swaps):
    return _module("hanging_days").HangingDay(swaps)


@pytest.fixture
def reading_day(swaps):
    return _module("hanging_days").ReadingDay(swaps)


@pytest.fixture
def reading_day_of(swaps):
    return lambda receiver: _module("hanging_days").ReadingDay(swaps, receiver)


@pytest.fixture
def open_page(browser, tmp_path):
    """Return a function that writes a page under a record of its own and opens it."""
    from antexp.field.entry_page import entry_pages

    def _open(end, swaps, facts, driver=None, same_record=None):
        own = same_record or uuid.uuid4().hex * 2
        text = entry_pages(swaps, facts)[f"{end}-page.html"]
        assert swaps.fingerprint in text
        path = tmp_path / f"{end}-{own[:8]}.html"
        path.write_text(text.replace(swaps.fingerprint, own), encoding="utf-8")
        return _module("page_driver").Page(driver or browser, path, f"antexp.{own[:24]}.{end}")

    return _open
