"""The data dictionary against the file formats antexp promises, and against what the rooms read and write."""

import pytest

from antexp import columns
from antexp.analysis.result import GAP_COLUMNS
from antexp.mixed.verdict import VERDICTS

PROMISED_GAPS = ("candidate,against,gap_db,standard_error_db,degrees_of_freedom,interval_db,p_value,p_adjusted,"
                 "resolution_db,detectable_db,scope,verdict")


@pytest.mark.parametrize(("table", "contract"), [
    (columns.ORDER, "swap,block,position,minutes,word,candidate,specimen,place,role"),
    (columns.ORDER_READING_END, "swap,block,position,minutes,word"),
    (columns.BENCH_BOOK, "candidate,specimen,leg_m,resonance_mhz,swr,feed_ohm,height_m,where,note"),
    (columns.REPEATS, "blocks,swaps,hours,resolution_db,detectable_db,chance,chance_all,chance_settled_if_equal,"
                      "chance_rehearsed,chance_rehearsed_se,detectable_cautious_db,chance_cautious"),
    (columns.ORDER_GAPS, "candidate,against,standard_error_db,resolution_db,tied_to_time"),
    (columns.EXPECTED_LOSSES, "name,resistance_ohm_per_m,loss_resistance_ohm,conductor_loss_db,"
                              "conductor_loss_range_db,mismatch_loss_db,gap_to_reference_db"),
    (columns.READING_RECORD, "swap,block,word,reading,time,level_db,level_low_db,level_high_db,level_s,receiver,role,"
                             "keep,note,what,other_time,entry,left_out_by"),
    (columns.HANGING_RECORD, "swap,block,word,what,time,candidate,specimen,place,swr,height_m,height_mark,source_db,"
                             "handling,handling_note,keep,note,other_time,entry,left_out_by"),
    (columns.TRIM, "name,specimen,leg_m,resonance_mhz,target_mhz,new_leg_m,cut_m,khz_per_cm,mistuning_cost_db"),
], ids=lambda value: getattr(value, "name", ""))
def test_columns_stand_in_the_promised_order(table, contract):
    assert ",".join(table.names) == contract


def test_gaps_have_the_promised_columns_first():
    assert ",".join(columns.GAPS.required) == PROMISED_GAPS
    assert ",".join(columns.GAPS.names).startswith(PROMISED_GAPS)


def test_readings_have_every_promised_column():
    contract = ("swap candidate level_db level_low_db level_high_db level_s block minutes time specimen place reading "
                "receiver swr feed_ohm source_db role height_m keep note")
    assert set(contract.split()) <= set(columns.READINGS.names)
    assert columns.READINGS.required == ("swap",)  # a level in one of three forms, a candidate or an order


@pytest.mark.parametrize("table", columns.TABLES, ids=lambda table: table.name)
def test_every_column_is_named_once_explained_and_shows_its_unit(table):
    assert len(set(table.names)) == len(table.names)
    for column in table.columns:
        assert column.meaning.endswith(".")
        for ending, unit in {"_db": "dB", "_m": "m", "_mhz": "MHz", "_ohm": "ohm"}.items():
            if column.name.endswith(ending) and "_per_" not in column.name:
                assert column.unit == unit, column.name


def test_a_judgement_writes_the_columns_of_the_dictionary():
    assert set(GAP_COLUMNS) == set(columns.GAPS.names)


def test_verdicts_are_those_of_the_rule():
    assert set(columns.GAPS.column("verdict").allowed) == set(VERDICTS)


def test_unknown_column_is_a_key_error():
    with pytest.raises(KeyError, match="level"):
        columns.ORDER.column("level")
