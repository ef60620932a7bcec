"""The two forms of the contract are read; defaults are filled in."""

from antexp.plan.reader import plan_from_dict, read_plan

FIVE_LINES = """\
candidates    = ["bare copper 1.5 mm", "covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm"]
frequency_mhz = 14.2
hours         = 5                     # of swapping, breaks not counted
matter_db     = 1
meter         = "spectrum analyser"   # or "SDR", "S-meter", "S-meter and attenuator"
"""


def test_five_lines_are_a_plan(tmp_path):
    file = tmp_path / "plan.toml"
    file.write_text(FIVE_LINES)
    plan = read_plan(file)
    assert plan.reference == "bare copper 1.5 mm"
    assert plan.others == ("covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm")
    assert (plan.radio.frequency_mhz, plan.field.hours, plan.question.matter_db) == (14.2, 5.0, 1.0)
    assert plan.meter.scale == "dBm"
    assert "I assume 7 minutes a swap (plan key field.minutes_per_swap)." in plan.assumptions


def test_matter_db_is_never_assumed():
    assert plan_from_dict({"candidates": ["a", "b"]}).question.matter_db is None
