"""Play the demonstration with an installed antexp: what it says of itself is complete, and it needs no other files.

Run by an environment's Python in an empty folder. Every file that is opened must lie in the environment, in Python
itself, in this folder, or where the system keeps its own (fonts, time zones, devices).
"""

from __future__ import annotations

import sys
import tempfile
from importlib.metadata import distribution
from pathlib import Path

SYSTEM = ["/proc", "/sys", "/dev", "/etc", "/usr/share", "/usr/lib", "/lib", "/usr/local/lib"]


def check_metadata() -> None:
    """Fail unless licence, description, classifiers, command and type marker came along."""
    found = distribution("antexp")
    said, files = found.metadata, {str(path) for path in found.files or ()}
    assert said["License-Expression"] == "MIT", "no licence in the metadata"
    assert [path for path in files if path.endswith("LICENSE.txt")], "the licence was not shipped"
    assert said["Description-Content-Type"] == "text/markdown" and "fair" in said.get_payload(), "no description"
    assert len(said.get_all("Classifier")) >= 10 and said["Requires-Python"] == ">=3.11"
    assert [point.name for point in found.entry_points] == ["antexp"], "no command"
    assert "antexp/py.typed" in files, "types were not shipped"
    strays = sorted({path.partition("/")[0] for path in files} - {"antexp", "..", f"antexp-{found.version}.dist-info"})
    assert not strays, f"installed beside the package: {strays}"


def play_the_demonstration() -> set[Path]:
    """Run ``antexp demo`` in this process and return every file that was opened."""
    opened: set[Path] = set()

    def note(event: str, arguments: tuple[object, ...]) -> None:
        if event == "open" and isinstance(arguments[0], str | bytes):
            name = arguments[0].decode() if isinstance(arguments[0], bytes) else arguments[0]
            opened.add(Path(name).absolute())

    sys.addaudithook(note)
    from antexp.cli.main import run

    sys.argv = ["antexp", "demo"]
    try:
        run()
    except SystemExit as stop:
        assert not stop.code, f"antexp demo ended with {stop.code}"
    return opened


def main() -> None:
    """Check both."""
    check_metadata()
    opened = play_the_demonstration()
    report = Path("antexp-demo", "report.html")
    assert report.stat().st_size > 50_000, "the demonstration wrote no report"
    homes = [sys.prefix, sys.base_prefix, ".", tempfile.gettempdir(), *SYSTEM]
    allowed = [Path(home).resolve() for home in homes]
    strays = [path for path in opened if not any(path.resolve().is_relative_to(home) for home in allowed)]
    assert not strays, f"files outside the installed package were opened: {sorted(map(str, strays))[:5]}"
    print(f"demonstration played from the installed package; {len(opened)} files opened, all of them its own")


if __name__ == "__main__":
    main()
