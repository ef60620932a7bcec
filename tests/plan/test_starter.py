"""The commented plan that a user begins with."""

import re
import tomllib

import pytest

from antexp.errors import FileError
from antexp.plan.model import Candidate, Coating, Field, Meter, Question, Radio
from antexp.plan.reader import read_plan
from antexp.plan.starter import starter_plan, write_starter
from antexp.plan.words import (
    COMPARES,
    DRIFTS,
    ELEMENTS,
    GROUNDS,
    MATERIALS,
    NOISES,
    POLARISATIONS,
    SCALES,
    SWAP_ENDS,
)


def uncommented() -> str:
    """Return the plan with every optional key switched on."""
    return re.sub(r"^# (?=\w+ = )", "", starter_plan(), flags=re.MULTILINE)


def test_it_is_valid_as_it_stands(tmp_path):
    file = tmp_path / "plan.toml"
    write_starter(file)
    plan = read_plan(file)
    assert len(plan.candidates) == 4
    assert plan.question.matter_db == 1.0
    assert "invented" in plan.title


@pytest.mark.parametrize("model", [Question, Radio, Meter, Field, Candidate, Coating])
def test_it_explains_every_key_of_the_long_form(model):
    alternatives = {"swr", "resistivity_ohm_m", "relative_permeability"}  # explained beside the key they replace
    text = uncommented()
    for key in model.model_fields:
        line = rf"\b{key} = " if key in alternatives or model is Coating else rf"^{key} = "
        assert re.search(line, text, re.MULTILINE), key


def test_each_optional_key_is_valid_once_its_remark_sign_is_taken_off(tmp_path):
    starter = starter_plan()
    needs = {"permittivity": "conductivity_s_per_m", "conductivity_s_per_m": "permittivity"}
    replaces = {"permittivity": "ground", "conductivity_s_per_m": "ground", "sittings": "hours",
                "ground_loss_ohm": "element"}
    keys = re.findall(r"^# (\w+) = ", starter, re.MULTILINE)
    assert len(keys) > 15
    for key in keys:
        text = starter
        for switched_on in {key, needs.get(key, key)}:
            text = re.sub(rf"^# ({switched_on} = )", r"\1", text, flags=re.MULTILINE)
        if key in replaces:
            text = re.sub(rf"^{replaces[key]} = .*$", "", text, flags=re.MULTILINE)
        if key == "ground_loss_ohm":
            text = text.replace("[radio]", '[radio]\nelement = "quarter-wave vertical"')
        file = tmp_path / f"{key}.toml"
        file.write_text(text, encoding="utf-8")
        assert any(stated.endswith(f".{key}") for stated in read_plan(file).stated), key


def test_it_names_every_word_that_may_be_written():
    text = " ".join(starter_plan().replace("\n# ", " ").split())
    for words in (COMPARES, DRIFTS, ELEMENTS, GROUNDS, NOISES, POLARISATIONS, SCALES, SWAP_ENDS, MATERIALS):
        for word in words:
            assert f'"{word}"' in text or f" {word}," in text or f" {word}." in text, word


def test_cautions_stand_before_the_first_key():
    head = starter_plan().split("title =")[0].lower()
    for danger in ("overhead lines", "masts", "lightning", "dummy load", "licence", "eye protection", "fences",
                   "local codes"):
        assert danger in head, danger


def test_the_scenario_is_data_only():
    document = tomllib.loads(starter_plan())
    assert set(document) == {"title", "reference", "question", "radio", "meter", "field", "candidates"}


def test_it_overwrites_nothing(tmp_path):
    file = tmp_path / "plan.toml"
    file.write_text("mine")
    with pytest.raises(FileError, match=r"plan\.toml: there is something of that name already"):
        write_starter(file)
    assert file.read_text() == "mine"


def test_a_folder_of_that_name_or_a_missing_folder_is_said(tmp_path):
    with pytest.raises(FileError, match="something of that name"):
        write_starter(tmp_path)
    with pytest.raises(FileError, match="cannot be written"):
        write_starter(tmp_path / "nowhere" / "plan.toml")
    assert list(tmp_path.iterdir()) == []
