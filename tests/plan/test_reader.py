"""Plans are read in every form, and refused with every fault at once: file, line, key, value, allowed, what to do."""

import hashlib
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from antexp.errors import FileError, PlanError
from antexp.plan.reader import plan_from_dict, read_plan

PAIR = 'candidates = ["a", "b"]\n'


def test_five_lines_are_a_plan(read, five_lines, tmp_path):
    plan = read(five_lines)
    assert plan.reference == "bare copper 1.5 mm"
    assert plan.others == ("covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm")
    assert (plan.radio.frequency_mhz, plan.field.hours, plan.question.matter_db) == (14.2, 5.0, 1.0)
    assert (plan.meter.scale, plan.meter.step_db, plan.meter.readings) == ("dBm", 0.1, 3)
    assert plan.sha256 == hashlib.sha256(five_lines.encode()).hexdigest()
    assert plan.path == tmp_path / "plan.toml"


def test_the_long_form_is_a_plan(read, long_form):
    plan = read(long_form)
    assert plan.reference == "enamelled copper, 1 mm"
    zinc = plan.candidate("zinc-coated steel, 2 mm")
    assert (zinc.coating.material, zinc.coating.thickness_um, zinc.feed_ohm) == ("zinc", 25.0, 62 + 9j)
    assert (plan.field.blocks, plan.field.may_stop_after, plan.field.seed) == (5, (3,), 20261125)
    assert (plan.meter.scale, plan.radio.noise, plan.radio.ground) == ("minus dBm", "rural", "wet")
    assert plan.states("meter.scale")


def test_top_keys_may_stand_in_their_tables(five_lines, read):
    tables = (five_lines.replace("frequency_mhz = 14.2\n", "").replace("hours         = 5", "#")
              .replace("matter_db     = 1\n", "")
              + "[radio]\nfrequency_mhz = 14.2\n[field]\nhours = 5\n[question]\nmatter_db = 1\n")
    top, inside = read(five_lines), read(tables)
    assert (top.radio, top.field, top.question) == (inside.radio, inside.field, inside.question)
    assert top.assumptions == inside.assumptions


def test_a_byte_order_mark_and_windows_line_ends_change_nothing(read, five_lines):
    plain = read(five_lines)
    windows = read(b"\xef\xbb\xbf" + five_lines.replace("\n", "\r\n").encode())
    assert windows.candidates == plain.candidates
    assert windows.sha256 != plain.sha256  # the digest is of the bytes


def test_a_mapping_is_the_same_plan(read, long_form):
    from_file, from_mapping = read(long_form), plan_from_dict(tomllib.loads(long_form))
    assert from_mapping.path is None
    assert from_file.model_dump(exclude={"path", "sha256"}) == from_mapping.model_dump(exclude={"path", "sha256"})
    assert len(from_mapping.sha256) == 64


def test_none_in_a_mapping_is_left_out():
    plan = plan_from_dict({"candidates": ("a", "b"), "matter_db": None, "radio": {"height_m": None}})
    assert (plan.question.matter_db, plan.radio.height_m) == (None, None)


def test_ground_may_be_two_numbers_in_either_place(read):
    for text in ("[radio]\npermittivity = 15\nconductivity_s_per_m = 0.01",
                 "[radio]\nground = { permittivity = 15, conductivity_s_per_m = 0.01 }"):
        radio = read(PAIR + text).radio
        assert (radio.ground, radio.permittivity, radio.conductivity_s_per_m) == (None, 15.0, 0.01)


FAULTS = [  # what is added to the two candidates, what the message has to say
    ("confidense = 0.9", ["line 2, key confidense: unknown key", "allowed: title, reference, candidates"]),
    ("[question]\nconfidense = 0.9", ["line 3, key question.confidense: unknown key", "Did you mean confidence?"]),
    ("[question]\nhours = 5", ["It belongs in the table [field]."]),
    ("blocks = 5", ["line 2, key blocks: unknown key", "It belongs in the table [field]."]),
    ("diameter_mm = 1", ["It belongs to a candidate."]),
    ("[field]\ntitle = 'x'", ["It belongs at the top of the plan"]),
    ("frequency_hz = 14.2e6", ["Did you mean frequency_mhz?"]),
    ("[question]\nconfidence = 95", ["line 3, key question.confidence: confidence is out of range: got 95",
                                     "allowed: a number from 0.5 to 0.9999. If 95 per cent is meant, write 0.95."]),
    ("[question]\nconfidence = 0.05", ["If an error probability of 0.05 is meant, write 0.95."]),
    ("[question]\nconfidence = 1", ["confidence is out of range: got 1;"]),
    ("[question]\nconfidence = 0", ["confidence is out of range: got 0;"]),
    ("[question]\nchance = 80", ["If 80 per cent is meant, write 0.8."]),
    ("[question]\nchance = 1", ["chance is out of range: got 1;"]),
    ("[question]\nchance = 0.0", ["chance is out of range: got 0.0;"]),
    ("matter_db = 0", ["line 2, key matter_db: matter_db is out of range", "above 0"]),
    ("matter_db = 1\n[question]\nmatter_db = 2",
     ["line 2, key matter_db: matter_db stands at the top and in [question]", "Keep one of the two."]),
    ("[question]\ncompare = 'refrence'", ['Did you mean "reference"?']),
    ("frequency_mhz = 14200", ["line 2, key frequency_mhz", "If 14200 is in kHz, write 14.2."]),
    ("frequency_mhz = 14_200_000", ["If 14200000 is in Hz, write 14.2."]),
    ("frequency_mhz = 0.0142", ["If 0.0142 is in GHz, write 14.2."]),
    ("frequency_mhz = -1", ["got -1; allowed: a number from 0.1 to 1000, in MHz."]),
    ("frequency_mhz = '14.2'", ["text where a number belongs", "Take the quotes off."]),
    ("frequency_mhz = '14,2'", ["Write 14.2, with a point and without quotes."]),
    ("frequency_mhz = true", ["frequency_mhz is not a number: got true"]),
    ("frequency_mhz = 2026-01-01", ["frequency_mhz is not a number: got 2026-01-01"]),
    ("frequency_mhz = nan", ["frequency_mhz is not a finite number: got nan"]),
    ("frequency_mhz = inf", ["frequency_mhz is not a finite number: got inf"]),
    ("frequency_mhz = [14.2]", ["frequency_mhz is not a number: got [14.2]"]),
    ("frequency_mhz = { mhz = 14.2 }", ["frequency_mhz is not a number: got a table"]),
    ("frequency_mhz = 0x" + "f" * 400, ["frequency_mhz is out of range: got a whole number beyond 64 bits"]),
    ("hours = 0", ["line 2, key hours: hours is out of range: got 0; allowed: a number above 0"]),
    ("hours = -2", ["hours is out of range: got -2"]),
    ("hours = 0.1", ["hours hold fewer than two swaps: got 0.1", "at least 14 minutes"]),
    ("hours = 5\n[field]\nhours = 5", ["hours stands at the top and in [field] as well"]),
    ("hours = 5\n[field]\nsittings = ['09:00-12:00']", ["hours beside sittings"]),
    ("meter = 'S meter'", ["line 2, key meter: meter is not a word I know", 'Did you mean "S-meter"?']),
    ("meter = ''", ['meter is not a word I know: got ""']),
    ("meter = 3", ["meter is not a table: got 3; allowed: a table with the keys scale, step_db"]),
    ("[meter]\nscale = 'dbm'", ['Did you mean "dBm"?']),
    ("[meter]\nstep_db = 0", ["step_db is out of range"]),
    ("[meter]\nreadings = 2.5", ["readings is not a whole number: got 2.5"]),
    ("[meter]\nreadings = 3.0", ["readings is not a whole number: got 3.0", "Take the decimals off."]),
    ("[meter]\nreading_sd_db = -0.1", ["reading_sd_db is out of range: got -0.1"]),
    ("[field]\nrehang_sd_db = -0.3", ["line 3, key field.rehang_sd_db: rehang_sd_db is out of range: got -0.3"]),
    ("[field]\nspecimen_sd_db = -0.3", ["specimen_sd_db is out of range"]),
    ("[field]\ndrift_db_per_hour = -1", ["drift_db_per_hour is out of range"]),
    ("[field]\nwander_db_per_sqrt_hour = -1", ["wander_db_per_sqrt_hour is out of range"]),
    ("[field]\ndrift = 'stedy'", ['Did you mean "steady"?']),
    ("[field]\nreference_every = 1", ["reference_every is out of range: got 1", "Every swap would be a reference"]),
    ("[field]\nblocks = 0", ["blocks is out of range: got 0; allowed: a whole number from 1 to 200"]),
    ("[field]\nblocks = true", ["blocks is not a number: got true"]),
    ("hours = 5\n[field]\nblocks = 190", ["190 blocks do not fit 300 minutes", "at most 21"]),
    ("[field]\nblocks = 3\nsittings = ['09:00-09:21', '10:00-10:21']", ["3 blocks do not fit 42 minutes", "most 2"]),
    ("[field]\nblock_minutes = 10", ["a block of 10 minutes holds fewer than two swaps", "at least 14 minutes"]),
    ("[field]\nminutes_per_swap = 60", ["key field.minutes_per_swap", "a block of 75 minutes holds fewer than two"]),
    ("[field]\nblocks = 3\nmay_stop_after = [2, 4]", ["may_stop_after names a block that is not planned: got 4",
                                                      "allowed: 1 to 3"]),
    ("[field]\nmay_stop_after = [3, 2]", ["may_stop_after does not rise: got [3, 2]"]),
    ("[field]\nmay_stop_after = 3", ["may_stop_after is not a list: got 3", "square brackets"]),
    ("[field]\nsittings = ['09:30']", ["has a sitting that is not of the form 09:30-12:15"]),
    ("[field]\nsittings = []", ["sittings is not a list of 1 to 100 sittings"]),
    ("[field]\nsittings = ['09:30-12:15', '12:00-13:00']", ["12:00-13:00, that overlaps the sitting 09:30-12:15"]),
    ("[field]\nsittings = [9]", ["has a sitting that is not text: 9"]),
    ("[field]\nsittings = [\n'09:00-09:10']", ["line 4, key field.sittings: the sitting holds fewer than two swaps"]),
    ("[field]\nblind = 'yes'", ["blind is neither true nor false"]),
    ("[field]\nseed = -1", ["seed is out of range"]),
    ("[field]\nplaces = 0", ["places is out of range"]),
    ("field = [1]", ["field is not a table: got [1]"]),
    ("question = 'x'", ['question is not a table: got "x"']),
    ("[radio]\nelement = 'dipole'", ['Did you mean "half-wave dipole"?']),
    ("[radio]\nground_loss_ohm = 12", ["ground_loss_ohm belongs to a vertical"]),
    ("[radio]\nground = 'swamp'", ['ground is not a word I know: got "swamp"; allowed: "sea water"']),
    ("[radio]\nground = 'wet'\npermittivity = 5\nconductivity_s_per_m = 1", ["ground is given by name and by numbers"]),
    ("[radio]\npermittivity = 5", ["permittivity without conductivity_s_per_m"]),
    ("[radio]\nground = { permitivity = 5 }", ["key radio.ground.permitivity: unknown or repeated key"]),
    ("reference = 'aa'", ['line 2, key reference: reference is not a candidate: got "aa"; allowed: the name of a '
                          'candidate: "a", "b".']),
    ("reference = 3", ["reference is not a candidate: got 3"]),
    ("title = 3", ["title is not text: got 3", "Put it in quotes."]),
    ("title = 'a\\tb'".replace("'", '"'), ["title has the invisible character U+0009"]),
]


@pytest.mark.parametrize(("text", "said"), FAULTS, ids=[text[:50] for text, _ in FAULTS])
def test_a_fault_is_one_clear_message(faults_of, text, said):
    faults = faults_of(PAIR + text + "\n")
    assert len(faults) == 1, faults
    assert faults[0].startswith("plan.toml, line ")
    for part in said:
        assert part in faults[0]


CANDIDATE_FAULTS = [
    ("diameter_mm = -1.5", ['line 5, key candidates.diameter_mm of "c": diameter_mm is out of range: got -1.5',
                            "allowed: a number from 0.01 to 50, in millimetres"]),
    ("diameter_mm = 0.0015", ["If 0.0015 is in metres, write 1.5."]),
    ("material = 'aluminum'", ['Did you mean "aluminium"?']),
    ("material = 'coper'", ['allowed: "copper", "hard-drawn copper"', 'Did you mean "copper"?']),
    ("material = 'unobtainium'", ['material is not a word I know: got "unobtainium"; allowed: "copper"']),
    ("coating = { material = 'zinc', thickness_um = 0 }", ["thickness_um is out of range: got 0", "from 0.01"]),
    ("diameter_mm = 1\ncoating = { material = 'zinc', thickness_um = 500 }",
     ["line 6, key candidates.coating.thickness_um", "thicker than the wire's radius: got 500", "less than 500"]),
    ("coating = { material = 'zinc', thickness_um = 25e-6 }", ["If 2.5e-05 is in metres, write 25."]),
    ("coating = { material = 'zinc' }", ["thickness_um is missing"]),
    ("coating = { thickness_um = 20 }", ["the coating has no material"]),
    ("coating = { material = 'zinc', thicknes_um = 20, thickness_um = 20 }", ["Did you mean thickness_um?"]),
    ("coating = 'zinc'", ['coating is not a table: got "zinc"; allowed: a table with the keys material, thickness_um']),
    ("feed_ohm = '62+9'", ['feed_ohm is not an impedance: got "62+9"', '"62+9j"']),
    ("feed_ohm = '62,5+9j'", ["Write a decimal point, not a comma."]),
    ("feed_ohm = '-62+9j'", ["feed_ohm has no resistance above 0"]),
    ("swr = 0.9", ["swr is out of range: got 0.9; allowed: a number from 1 to 100"]),
    ("swr = 1.2\nfeed_ohm = '60+1j'", ["swr beside feed_ohm", "Keep feed_ohm"]),
    ("specimens = 0", ["specimens is out of range"]),
    ("strands = 0", ["strands is out of range"]),
    ("insulation_permittivity = 3", ["insulation_permittivity without insulation_mm"]),
    ("resistivity_ohm_m = 1.72", ["If 1.72 is in microhm centimetre, write 1.72e-08."]),
    ("resistivity_ohm_m = 0.0172", ["If 0.0172 is in ohm square millimetre per metre, write 1.72e-08."]),
    ("material = 'copper'\nresistivity_ohm_m = 1e-7", ["resistivity_ohm_m beside a material's name"]),
    ("relative_permeability = 100", ["relative_permeability without resistivity_ohm_m"]),
    ("available_in_blocks = [9]\n[field]\nblocks = 3", ["available_in_blocks names a block that is not planned"]),
    ("available_in_blocks = []", ["available in no block"]),
    ("colour = 'red'", ["unknown key", "name, material, diameter_mm"]),
]


@pytest.mark.parametrize(("text", "said"), CANDIDATE_FAULTS, ids=[text[:50] for text, _ in CANDIDATE_FAULTS])
def test_a_fault_of_a_candidate_names_it(faults_of, text, said):
    faults = faults_of(f'[[candidates]]\nname = "r"\n[[candidates]]\nname = "c"\n{text}\n')
    assert len(faults) == 1, faults
    for part in said:
        assert part in faults[0]


NAME_FAULTS = [
    ('candidates = ["a"]', ["there is one candidate only"]),
    ("candidates = []", ["there is no candidate"]),
    ("title = 'x'", ["candidates is missing", 'candidates = ["bare copper 1.5 mm"']),
    ("candidates = 'a, b'", ['candidates is not a list: got "a, b"']),
    ('candidates = ["a", "b", "a"]', ['two candidates have the same name: got "a"']),
    ('candidates = ["bare copper", "Bare  Copper"]', ["differ only in blanks or capitals", '"bare copper" is there']),
    ('candidates = ["a", 3]', ["a candidate is neither a name nor a table: got 3"]),
    ('candidates = ["a", ""]', ["name is empty"]),
    ('candidates = ["a", "  "]', ["name is empty"]),
    ('candidates = ["a", " b"]', ["name has blanks at its beginning or end"]),
    ('candidates = ["a", "b\\nc"]', ["name has the invisible character U+000A"]),
    ('candidates = ["a", "b\\u0000"]', ["name has the invisible character U+0000"]),
    ('candidates = ["a", "b\\u202ec"]', ["name has the invisible character U+202E", "b\\u202ec"]),
    ('candidates = ["a", "=1+1"]', ["name begins with =", "formula"]),
    (f'candidates = ["a", "{"b" * 200}"]', ["name is 200 characters long", "1 to 120 visible"]),
    ('candidates = [{ material = "copper" }, "b"]', ["name is missing", "of number 1"]),
    ('candidates = ["a", ["b"]]', ['neither a name nor a table: got ["b"]']),
    ("candidates = [" + ", ".join(f'"w{i}"' for i in range(201)) + "]", ["there are 201 candidates", "2 to 200"]),
    ("candidates = [" + "[" * 50 + "]" * 50 + "]", ["nested too deeply"]),
    ('reference = "coper"\ncandidates = ["copper", "steel"]', ['Did you mean "copper"?']),
    ('candidates = [{name = "a", available_in_blocks = [1]}, "b"]', ["the reference has to be available in every"]),
]


@pytest.mark.parametrize(("text", "said"), NAME_FAULTS, ids=[text[:50] for text, _ in NAME_FAULTS])
def test_a_fault_of_the_names_is_said(faults_of, text, said):
    faults = faults_of(text + "\n")
    assert len(faults) == 1, faults
    for part in said:
        assert part in faults[0]


def test_all_faults_come_at_once_in_the_order_of_their_lines(faults_of):
    faults = faults_of('reference = "c"\ncandidates = ["a", "A"]\n'
                       "[field]\nseed = -1\nblokcs = 2\n[meter]\nreadings = 0\n")
    starts = ["line 1, key reference", "line 2, key candidates", "line 4, key field.seed", "line 5, key field.blokcs",
              "line 7, key meter.readings"]
    assert [start in fault for start, fault in zip(starts, faults, strict=True)] == [True] * 5


@pytest.mark.parametrize(("text", "said"), [
    ("candidates = [copper, steel]", ["line 1", "not valid TOML", 'got "candidates = [copper, steel]"', "in quotes"]),
    (PAIR + "frequency_mhz = 14,2", ["line 2", "not valid TOML", "decimal point"]),
    (PAIR + "hours = 5 h", ["line 2", "not valid TOML", "no unit"]),
    (PAIR + "hours = 5\nhours = 6", ["line 3", "stands there twice", "Keep one of the two."]),
    (PAIR + "[field]\n[field]", ["line 3", "stands there twice"]),
    (PAIR + 'title = "open', ["line 2", "not valid TOML"]),
    (PAIR + "seed = " + "9" * 5000, ["not valid TOML"]),
    (PAIR + "day = 2026-02-30", ["not valid TOML"]),
    (PAIR + "x = " + "[" * 3000, ["not valid TOML"]),
    (PAIR + "\x00", ["line 2", "not valid TOML"]),
    ("swap;block;level_db\n1;1;-45,3", ["line 1", "not valid TOML"]),
])
def test_what_is_not_toml_is_one_message(faults_of, text, said):
    faults = faults_of(text)
    assert len(faults) == 1
    assert len(faults[0]) < 500
    for part in said:
        assert part in faults[0]


@pytest.mark.parametrize(("content", "said"), [
    (b"", "the plan is empty"),
    (b" \n\n", "the plan is empty"),
    (b"title = '\xff'", "the plan is not UTF-8"),
    (b"#" * 3_000_000, "the plan is too large"),
])
def test_what_is_no_text_is_a_file_fault(read, content, said):
    with pytest.raises(FileError, match=said):
        read(content)


def test_a_missing_file_and_a_folder_are_file_faults(tmp_path):
    with pytest.raises(FileError, match="there is no such plan"):
        read_plan(tmp_path / "nowhere.toml")
    with pytest.raises(FileError, match="a folder stands where the plan belongs"):
        read_plan(tmp_path)


def test_a_plan_is_a_mapping():
    with pytest.raises(PlanError, match="call read_plan"):
        plan_from_dict("plan.toml")


def test_faults_of_a_mapping_name_the_key_without_a_line():
    with pytest.raises(PlanError, match=r"^plan, key field\.seed: seed is out of range: got -1;"):
        plan_from_dict({"candidates": ["a", "b"], "field": {"seed": -1}})


odd = st.one_of(
    st.none(), st.booleans(), st.integers(-3, 200), st.integers(-(2**200), 2**200), st.floats(), st.text(max_size=8),
    st.dates(), st.times(), st.datetimes(), st.lists(st.integers() | st.text(max_size=3), max_size=3),
    st.dictionaries(st.sampled_from(["name", "material", "thickness_um", "scale", "x"]), st.text(max_size=3)),
)


def _places(value, path=()):
    """Yield the path of everything inside a document."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield (*path, key)
        yield from _places(item, (*path, key))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(data=st.data())
def test_any_value_anywhere_is_read_or_refused(long_form, data):
    document = tomllib.loads(long_form)
    for _ in range(data.draw(st.integers(1, 4))):
        path = data.draw(st.sampled_from(list(_places(document))))
        inner = document
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = data.draw(odd)
    try:
        plan = plan_from_dict(document)
    except PlanError as error:
        assert all(fault.what and fault.where.startswith("plan") for fault in error.faults)
    else:
        assert plan.reference in plan.candidate_names
        assert plan.field.block_minutes / plan.field.minutes_per_swap >= 2 - 1e-9, "a block compares"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(data=st.data())
def test_any_slip_of_the_pen_is_read_or_refused(read, long_form, data):
    start = data.draw(st.integers(0, len(long_form)))
    end = data.draw(st.integers(start, min(start + 12, len(long_form))))
    signs = st.sampled_from('"\'[]{}=#.,-+_\n\r\t 0189abejnx\\\x00é')
    typed = data.draw(st.text(signs, max_size=6) | st.text(max_size=4))
    text = (long_form[:start] + typed + long_form[end:]).encode("utf-8", "surrogatepass")
    try:
        plan = read(text)
    except (PlanError, FileError) as error:
        assert "plan.toml" in str(error)
    else:
        assert len(plan.candidates) >= 2
