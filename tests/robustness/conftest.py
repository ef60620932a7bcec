"""What the tests of robustness share: hostile names, a judged day of them, a browser, the fuzzing script."""

import shutil
from types import SimpleNamespace

import pytest

# What may be tried with a name that goes into a page, a picture or a table (OWASP, "XSS Filter Evasion Cheat Sheet" and
# "CSV Injection", in our own words); none may run, all must be shown as they stand.
HOSTILE = (
    "<script>window.hacked=1</script>",
    "\"><img src=x onerror=window.hacked=2>",
    "</script><script>window.hacked=3</script>",
    "<svg onload=window.hacked=4>",
    "]]>--><script>window.hacked=5</script>",
    "</title></style></textarea><b onmouseover=window.hacked=6>",
    "{{7*7}}{% raw %}${7*7} ../../etc/passwd $x^$ \\frac{",
)
TITLE = "</title><script>window.hacked=7</script>"
NOTE = "=HYPERLINK(\"http://x\")<script>window.hacked=8</script>"


@pytest.fixture(scope="session")
def fuzzing():
    """Return the fuzzing script as a module."""
    from tests.benchmarks import fuzzing

    return fuzzing


@pytest.fixture(scope="session")
def readers():
    """Return the readers under test by name."""
    from tests.benchmarks.fuzzed_readers import readers

    return readers()


@pytest.fixture(scope="session")
def hostile_day(tmp_path_factory):
    """Return a folder with everything that antexp writes of a day whose names, title and notes are hostile."""
    from antexp.analysis.choice import choose
    from antexp.analysis.judge import judge
    from antexp.design.order import make_order
    from antexp.design.order_file import read_order, write_order
    from antexp.field.companions import write_companions
    from antexp.plan.reader import read_plan
    from antexp.repeats.simulate import simulate
    from antexp.report.choice_page import write_choice
    from antexp.report.say_files import write_said
    from antexp.report.write import write_report

    place = tmp_path_factory.mktemp("hostile") / "day"
    place.mkdir()
    names = ", ".join(f"'''{name}'''" for name in HOSTILE)
    (place / "plan.toml").write_text(f"title = '''{TITLE}'''\ncandidates = [{names}]\nfrequency_mhz = 14.2\nhours = 5\n"
                                     "matter_db = 1\nmeter = 'spectrum analyser'\n", encoding="utf-8")
    plan = read_plan(place / "plan.toml")
    write_order(make_order(plan), place / "order.csv")
    order = read_order(place / "order.csv")
    readings = simulate(plan, order, {HOSTILE[1]: -2.0}, seed=3).assign(note=NOTE)
    readings.to_csv(place / "readings.csv", index=False)
    judgement = judge(place / "readings.csv", plan, order)
    write_report(judgement, place)
    write_said(judgement, place, plan)
    write_choice(choose(place / "readings.csv", plan, order, span_m=20.0, tension_n=50.0), place, plan)
    write_companions(place / "order.csv", place / "plan.toml")
    return SimpleNamespace(folder=place, plan=plan, order=order, judgement=judgement, names=HOSTILE, note=NOTE)


@pytest.fixture(scope="session")
def browser(tmp_path_factory):
    """Return headless Chromium."""
    program = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    driver_path = shutil.which("chromedriver")
    if not program or not driver_path:
        pytest.skip("no Chromium with its driver on this machine")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = program
    for flag in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
                 f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver_path))
    yield driver
    driver.quit()
