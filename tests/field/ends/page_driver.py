"""Drives a page as a person would: by what is written on it."""

import csv
import io
import time
from datetime import datetime
from pathlib import Path

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

# The page asks the clock through Date.now alone, so a test can set it.
CLOCK = ("(function () { var real = Date.now;"
         " Date.now = function () { return window.testNow || real.call(Date); }; })();")
FIND_BUTTON = """var label = arguments[0];
return Array.from(document.querySelectorAll("button")).find(function (button) {
  return button.offsetParent && button.textContent === label;
}) || null;"""



class Page:
    """A page in a browser.

    Parameters
    ----------
    driver : selenium WebDriver
    path : Path
        The page.
    key : str
        Under which its record is kept.
    """

    def __init__(self, driver, path, key):
        self.driver = driver
        self.path = path
        self.key = key
        self.now = None
        driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": CLOCK})
        self.open()

    def open(self):
        """Open the page anew, as after closing it."""
        self.driver.get(self.path.as_uri())
        self._ready()

    def reload(self):
        """Reload the page."""
        self.driver.refresh()
        self._ready()

    def _ready(self):
        deadline = time.monotonic() + 10
        while self.driver.find_element(By.TAG_NAME, "body").get_attribute("data-ready") != "yes":
            assert time.monotonic() < deadline, "the page did not start"
            time.sleep(0.02)
        self.set_clock(self.now)

    def set_clock(self, moment):
        """Let the page's clock stand at a moment, an ISO text or None for the real one."""
        self.now = moment
        stamp = "null" if moment is None else str(int(datetime.fromisoformat(moment).timestamp() * 1000))
        self.driver.execute_script(f"window.testNow = {stamp};")

    def text(self, name):
        """Return the text of an element by its id."""
        return self.driver.find_element(By.ID, name).text

    def shows(self, name):
        """Tell whether an element is to be seen."""
        return self.driver.find_element(By.ID, name).is_displayed()

    @property
    def said(self):
        """Return what the page said last."""
        return self.text("said")

    def _button(self, label):
        """Return the button in sight that is labelled so, None where there is none."""
        return self.driver.execute_script(FIND_BUTTON, label)

    def press(self, label):
        """Press the visible button that is labelled so."""
        button = self._button(label)
        assert button is not None, f"no button “{label}” in sight"
        assert button.is_enabled(), f"{label} is not to be pressed now"
        button.click()

    def can_press(self, label):
        """Tell whether a button is there and may be pressed."""
        button = self._button(label)
        return button is not None and button.is_enabled()

    def begin(self):
        """Begin the block that is next."""
        self.press("Begin")

    def level(self, text):
        """Type a level and take it."""
        box = self.driver.find_element(By.ID, "level")
        box.send_keys(text, Keys.ENTER)

    def fill(self, name, text):
        """Fill a field of the open panel, or of the page, in place of what stands in it."""
        box = self.driver.find_element(By.ID, name)
        box.clear()
        box.send_keys(text)

    def choose(self, name, text):
        """Choose an entry of a list in the open panel."""
        Select(self.driver.find_element(By.ID, name)).select_by_visible_text(text)

    def panel(self, label, action, **fields):
        """Open a panel, fill it and press its button."""
        self.press(label)
        for name, text in fields.items():
            element = self.driver.find_element(By.ID, f"panel-{name}")
            if element.tag_name == "select":
                self.choose(f"panel-{name}", text)
            else:
                self.fill(f"panel-{name}", text)
        self.press(action)

    def file_text(self):
        """Return the file as the page shows it as text."""
        self.press("Show the file as text")
        text = self.driver.find_element(By.ID, "panel-text").get_attribute("value")
        self.press("Back")
        return text

    def rows(self):
        """Return the rows of the file."""
        return list(csv.DictReader(io.StringIO(self.file_text())))

    def kept(self, what="reading"):
        """Return the rows of a kind that count."""
        return [row for row in self.rows() if row["what"] == what and row["keep"] == "1"]

    def export(self, folder):
        """Export by the button and return the file's path."""
        self.driver.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(folder)})
        before = set(Path(folder).iterdir())
        self.press("Export")
        deadline = time.monotonic() + 20
        while True:
            found = [file for file in set(Path(folder).iterdir()) - before if file.suffix == ".csv"]
            if found and found[0].stat().st_size:
                return found[0]
            assert time.monotonic() < deadline, "no file was downloaded"
            time.sleep(0.05)
