"""`antexp order --pilot` and `antexp pilot` on the command line."""

import csv
import json

PLAN = 'candidates = ["reference wire", "other"]\nhours = 3\n'


def test_form_filled_in_and_judged(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    ran = antexp("order", plan, "--pilot", "-o", tmp_path / "pilot.csv")
    assert ran.status == 0 and "Source into a dummy load" in ran.out and "common practice, no source" in ran.out
    assert "Caution: " in ran.out and "power lines" in ran.out
    form = tmp_path / "pilot.form.csv"
    with form.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    for number, row in enumerate(rows):
        level = -50 - {"dummy load": 40, "attenuator in": 10}.get(row["step"], 0) + int(row["swap"]) * 0.1
        row["level_db"] = f"{level + 0.05 * (number % 3):.2f}"
        row["attenuator_db"] = "10" if row["step"] == "attenuator in" else ""
    with form.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    document = json.loads(antexp("pilot", form, "--plan", plan, "--json").out)
    assert document["verdict"] == "go" and document["hangings"] == 6
    ran = antexp("pilot", form)
    assert ran.status == 0 and ran.out.startswith("Go: the set-up passed every check.") and "rehang_sd_db" in ran.out


def test_a_blank_form_is_refused(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    antexp("order", plan, "--pilot", "-o", tmp_path / "pilot.csv")
    ran = antexp("pilot", tmp_path / "pilot.form.csv")
    assert ran.status == 2 and "level_db" in ran.err and ran.out == ""


def test_pilot_stands_alone(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    assert "--pilot stands alone" in antexp("order", plan, "--pilot", "--without", "other").err
