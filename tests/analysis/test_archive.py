"""An experiment kept in one file: it opens again, judges to the same bytes, and nobody's archive can do harm."""

import io
import json
import zipfile

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.archive import keep, open_archive
from antexp.analysis.archive_safety import MANIFEST, name_faults
from antexp.analysis.judge import judge
from antexp.analysis.judged_folder import differing_keys, find_judged, judge_again
from antexp.design.order import make_order
from antexp.design.order_file import write_order
from antexp.errors import FileError, JudgementError
from antexp.plan.reader import read_plan
from antexp.repeats.simulate import simulate

PLAN = """candidates = ["bare", "clad", "steel"]
frequency_mhz = 14.2
matter_db = 1
meter = "spectrum analyser"
[field]
blocks = 3
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A judged experiment whose readings need the order file to be read."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    plan = read_plan(folder / "plan.toml")
    order = make_order(plan)
    write_order(order, folder / "order.csv")
    readings = simulate(plan, order, {"steel": -2.0}, seed=4).drop(columns=["candidate", "specimen", "place"])
    readings.to_csv(folder / "readings.csv", index=False)
    judgement = judge(folder / "readings.csv", plan, folder / "order.csv", compare="each-other")
    (folder / "results.json").write_text(judgement.to_json(), encoding="utf-8")
    (folder / "report.html").write_text("<p>report</p>", encoding="utf-8")
    (folder / "unrelated.txt").write_text("private", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def archive(made, tmp_path_factory):
    path = tmp_path_factory.mktemp("kept") / "meadow.zip"
    keep(made, path)
    return path


def test_it_opens_again_and_judges_to_the_same_bytes(made, archive, tmp_path):
    opened = open_archive(archive, tmp_path / "new")
    assert opened.same_bytes, opened.why
    for name in ("plan.toml", "order.csv", "readings.csv", "results.json", "report.html"):
        assert (tmp_path / "new" / name).read_bytes() == (made / name).read_bytes()
    assert {file.role for file in opened.files} >= {"plan", "order", "readings", "results", "report"}
    assert not (tmp_path / "new" / "unrelated.txt").exists()


def test_the_same_experiment_gives_the_same_archive(made, archive, tmp_path):
    keep(made, tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == archive.read_bytes()
    with zipfile.ZipFile(archive) as opened:
        assert {info.date_time for info in opened.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert opened.testzip() is None


def test_further_files_are_kept_where_asked(made, tmp_path):
    kept = keep(made, tmp_path / "a.zip", also=(made / "unrelated.txt",))
    assert ("unrelated.txt", "also") in {(file.name, file.role) for file in kept.files}


def test_files_in_the_folder_above_are_found_by_their_digests_and_no_others(made, archive, tmp_path):
    """`antexp judge readings.csv --plan plan.toml -o result`: the results stand one folder below what was judged."""
    below = tmp_path / "result"
    below.mkdir()
    for name in ("plan.toml", "order.csv", "order.json", "order.reading-end.csv", "readings.csv"):
        (tmp_path / name).write_bytes((made / name).read_bytes())
    (tmp_path / "other-order.csv").write_bytes((made / "order.csv").read_bytes() + b"\n")
    for name in ("results.json", "report.html"):
        (below / name).write_bytes((made / name).read_bytes())
    found = find_judged(below)
    assert (found.plan, found.readings, found.orders) == (tmp_path / "plan.toml", tmp_path / "readings.csv",
                                                          (tmp_path / "order.csv",))
    kept = keep(below, tmp_path / "a.zip")
    assert {file.name for file in kept.files} == {file.name for file in keep(made, tmp_path / "b.zip").files}
    assert find_judged(below, above=False).plan is None


def test_an_archive_overwrites_nothing(made, archive, tmp_path):
    with pytest.raises(FileError, match="overwrites nothing"):
        keep(made, archive)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine").write_text("x")
    with pytest.raises(FileError, match="new or empty folder"):
        open_archive(archive, tmp_path / "full")


def copy(made, tmp_path, **changed):
    folder = tmp_path / "copy"
    folder.mkdir()
    for name in ("plan.toml", "order.csv", "readings.csv", "results.json"):
        data = (made / name).read_bytes()
        (folder / name).write_bytes(changed.get(name.split(".")[0], lambda bytes_: bytes_)(data))
    return folder


def test_readings_that_are_not_those_judged_are_not_kept(made, tmp_path):
    folder = copy(made, tmp_path, readings=lambda data: data + b"\n")
    with pytest.raises(JudgementError, match="readings file that was judged is neither in the folder nor above it"):
        keep(folder, tmp_path / "a.zip")
    with pytest.raises(JudgementError, match="not the readings file that was judged"):
        keep(folder, tmp_path / "a.zip", readings=folder / "readings.csv")
    assert not (tmp_path / "a.zip").exists()


def test_results_that_the_readings_do_not_give_are_not_kept(made, tmp_path):
    def stronger(data):
        document = json.loads(data)
        document["gaps"][0]["gap_db"] += 1.0
        return json.dumps(document).encode()

    with pytest.raises(JudgementError, match="do not judge to these results: got they differ in gaps"):
        keep(copy(made, tmp_path, results=stronger), tmp_path / "a.zip")


def test_without_the_order_that_names_the_wires_nothing_is_kept(made, tmp_path):
    folder = copy(made, tmp_path)
    (folder / "order.csv").unlink()
    with pytest.raises(JudgementError, match=r"the order file that was judged is neither in the folder nor.*--order"):
        keep(folder, tmp_path / "a.zip")
    (folder / "order.csv").write_text((made / "order.csv").read_text(encoding="utf-8") + "\n", encoding="utf-8")
    with pytest.raises(JudgementError, match="this is not the order file that was judged"):
        keep(folder, tmp_path / "a.zip", order=folder / "order.csv")
    (folder / "order.csv").unlink()
    keep(folder, tmp_path / "a.zip", order=made / "order.csv")


def test_results_without_a_digest_of_the_order_find_it_by_its_columns(made, tmp_path):
    """Results of before this digest; that they differ now shows in the provenance alone."""
    folder = copy(made, tmp_path)
    results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    assert results["provenance"].pop("order_sha256") and results["provenance"].pop("bench_sha256") is None
    (folder / "results.json").write_text(json.dumps(results), encoding="utf-8")
    files = find_judged(folder)
    assert [path.name for path in files.orders] == ["order.csv"]
    again = judge_again(files)
    assert again is not None and differing_keys(results, json.loads(again[1])) == ["provenance"]


# What somebody else's archive could try.


def rewritten(archive, tmp_path, change):
    """Write the archive anew after `change(entries)`, a dict of name to bytes or (ZipInfo, bytes)."""
    with zipfile.ZipFile(archive) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    change(entries)
    path = tmp_path / "changed.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in entries.items():
            target.writestr(*data) if isinstance(data, tuple) else target.writestr(name, data)
    return path


def refused(path, tmp_path, words):
    with pytest.raises(FileError, match=words):
        open_archive(path, tmp_path / "into")
    assert not (tmp_path / "into").exists()
    assert not (tmp_path.parent / "evil.txt").exists()


@pytest.mark.parametrize("name", ["../evil.txt", "/tmp/evil.txt", "a/b.txt", "..\\evil.txt", "C:evil.txt", "..",
                                  ".hidden", "nul", "COM1.txt", "tail.", "new\nline", "x" * 200, "a\u202eb", " lead",
                                  "wild*"])
def test_names_that_lead_elsewhere(archive, tmp_path, name):
    assert name_faults(name)
    # a NUL or newline in a name is kept by the writer as it is
    refused(rewritten(archive, tmp_path, lambda entries: entries.update({name: b"x"})), tmp_path, "not plain")


def test_plain_names_of_many_tongues_pass():
    assert not [name for name in ("plan.toml", "Wiese 2026 (Süd).csv", "漢字.svg", "a,b;c.txt") if name_faults(name)]
    assert name_faults("PLAN.toml", ["plan.toml"])
    assert name_faults("Contents.json")


def test_links_are_refused(archive, tmp_path):
    def link(entries):
        info = zipfile.ZipInfo("link.txt")
        info.create_system, info.external_attr = 3, 0o120777 << 16
        entries["link.txt"] = (info, b"/etc/hosts")

    refused(rewritten(archive, tmp_path, link), tmp_path, "not a plain file")


def test_a_bomb_is_not_unpacked(archive, tmp_path):
    refused(rewritten(archive, tmp_path, lambda entries: entries.update({"zeros.txt": bytes(257 * 2**20)})), tmp_path,
            "unpacks to too much")


def test_a_directory_that_lies_about_a_length_is_caught(archive, tmp_path):
    raw = bytearray(archive.read_bytes())
    place = raw.rindex(b"readings.csv") - 46  # the entry of the central directory
    raw[place + 24 : place + 28] = (10).to_bytes(4, "little")
    (tmp_path / "lie.zip").write_bytes(raw)
    refused(tmp_path / "lie.zip", tmp_path, "damaged|not as long")


def test_too_many_files(archive, tmp_path):
    refused(rewritten(archive, tmp_path, lambda entries: entries.update({f"f{i}": b"" for i in range(301)})), tmp_path,
            "too many files")


def test_encrypted_or_foreign_packing(archive, tmp_path):
    path = tmp_path / "lzma.zip"
    with zipfile.ZipFile(archive) as opened, zipfile.ZipFile(path, "w", zipfile.ZIP_LZMA) as target:
        for name in opened.namelist():
            target.writestr(name, opened.read(name))
    refused(path, tmp_path, "packed in a way")


@pytest.mark.parametrize(("change", "words"), [
    (lambda e: e.update({"readings.csv": e["readings.csv"] + b" "}), "not as it was kept"),
    (lambda e: e.update({"more.txt": b"x"}), "does not name"),
    (lambda e: e.pop("plan.toml"), "lacks a file"),
    (lambda e: e.pop(MANIFEST), "not an archive that antexp keep wrote"),
    (lambda e: e.update({MANIFEST: b"[" * 99999}), "not an archive that antexp keep wrote"),
    (lambda e: e.update({MANIFEST: b'{"format": "antexp archive 1", "files": [{"name": 3}]}'}), "not an archive that"),
], ids=["content", "more", "less", "no list", "deep list", "odd list"])
def test_contents_that_are_not_those_listed(archive, tmp_path, change, words):
    refused(rewritten(archive, tmp_path, change), tmp_path, words)


def test_readings_of_another_day_under_a_rewritten_list(archive, tmp_path):
    import hashlib

    def other_day(entries):
        entries["readings.csv"] += b" "
        listed = json.loads(entries[MANIFEST])
        for file in listed["files"]:
            if file["name"] == "readings.csv":
                file["sha256"] = hashlib.sha256(entries["readings.csv"]).hexdigest()
        entries[MANIFEST] = json.dumps(listed).encode()

    refused(rewritten(archive, tmp_path, other_day), tmp_path, "readings of the archive are not those of its results")


def test_cut_off_and_spoilt_bytes_never_trace_back(archive, tmp_path):
    raw = archive.read_bytes()
    random = np.random.default_rng(1)
    for number in range(120):
        spoilt = bytearray(raw[: random.integers(len(raw))] if number % 3 == 0 else raw)
        for _ in range(random.integers(1, 6)):
            if spoilt:
                spoilt[random.integers(len(spoilt))] = random.integers(256)
        (tmp_path / "s.zip").write_bytes(bytes(spoilt))
        try:
            open_archive(tmp_path / "s.zip", tmp_path / f"into{number}")
        except FileError:
            assert not (tmp_path / f"into{number}").exists()


def test_a_record_without_plan_and_order_is_kept_too(tmp_path):
    table = pd.DataFrame({"swap": range(1, 13), "block": [1] * 6 + [2] * 6, "candidate": ["a", "b"] * 6,
                          "level_db": -50 + np.random.default_rng(0).normal(0, 0.3, 12)})
    table.to_csv(tmp_path / "r.csv", index=False)
    (tmp_path / "results.json").write_text(judge(tmp_path / "r.csv").to_json(), encoding="utf-8")
    keep(tmp_path, tmp_path / "a.zip")
    assert open_archive(tmp_path / "a.zip", tmp_path / "new").same_bytes


def test_no_archive_at_all(tmp_path):
    (tmp_path / "t.zip").write_bytes(b"PK")
    refused(tmp_path / "t.zip", tmp_path, "damaged or is none")
    empty = io.BytesIO()
    zipfile.ZipFile(empty, "w").close()
    (tmp_path / "e.zip").write_bytes(empty.getvalue())
    refused(tmp_path / "e.zip", tmp_path, "not an archive that antexp keep wrote")


def test_of_several_orders_the_one_that_was_followed_is_found(made, tmp_path):
    folder = copy(made, tmp_path)
    text = (made / "order.csv").read_text(encoding="utf-8")
    (folder / "another.csv").write_text(text.replace("steel", "clad"), encoding="utf-8")
    kept = keep(folder, tmp_path / "a.zip")
    roles = {file.name: file.role for file in kept.files}
    assert (roles["order.csv"], roles["another.csv"]) == ("order", "also")
    assert open_archive(tmp_path / "a.zip", tmp_path / "new").same_bytes
