"""The simulated records: deterministic, in order of time, and physically possible piece by piece."""

import numpy as np
import pandas as pd
import pytest

from pipelines.demo.simulator import simulate
from schemas.records import KINDS


@pytest.fixture(scope="module")
def simulation():
    return simulate(60, seed=3)


def test_the_same_seed_gives_the_same_records(simulation):
    again = simulate(60, seed=3)
    for kind, table in simulation.records.items():
        pd.testing.assert_frame_equal(table, again.records[kind])


def test_another_seed_gives_other_records(simulation):
    other = simulate(60, seed=4)
    assert not np.allclose(
        simulation.records["tensile"]["max_force_n"], other.records["tensile"]["max_force_n"]
    )


def test_every_kind_has_records_in_the_models_columns(simulation):
    assert simulation.records.keys() == KINDS.keys()
    for kind, table in simulation.records.items():
        assert len(table) > 0
        assert set(table.columns) <= KINDS[kind].to_schema().columns.keys()


@pytest.mark.parametrize("sheets", [12, 17, 60])
def test_sheets_are_spread_over_all_trial_points(sheets):
    formed = simulate(sheets, seed=1).records["forming"].drop_duplicates("sheet_id")
    per_point = formed.groupby(["trial", "trial_point"]).size()
    assert len(formed) == sheets
    assert len(per_point) == 12
    assert per_point.max() - per_point.min() <= 1


def test_fewer_sheets_than_trial_points_are_refused():
    with pytest.raises(ValueError, match="12 trial points and needs a sheet for each"):
        simulate(11, seed=1)


def test_every_tensile_piece_is_physically_possible(simulation):
    pieces = simulation.records["tensile"]
    area_under = pieces["energy_j"] * 1000 / (pieces["max_force_n"] * pieces["elongation_mm"])
    assert area_under.between(0.5, 1, inclusive="neither").all()
    slope = pieces["max_slope_n_mm"].fillna(
        pieces["tensile_stiffness_kn_m"] * pieces["width_mm"] / pieces["span_mm"]
    )
    assert (slope * pieces["elongation_mm"] / pieces["max_force_n"]).ge(1).all()


def test_every_sheet_has_its_tests(simulation):
    records = simulation.records
    sheets = records["forming"]["sheet_id"].unique()
    pieces = records["tensile"].groupby(["sheet_id", "direction"]).size()
    assert len(pieces) == 2 * len(sheets)
    assert (pieces == 10).all()
    single = records["thickness"][records["thickness"]["sheets_in_pack"] == 1]
    assert (single.groupby("sheet_id").size() == 10).all()
    assert records["basis_weight"].groupby("sheet_id").size().between(3, 5).all()
    assert (records["moisture"].groupby("sheet_id").size() == 2).all()
    for kind in ("basis_weight", "moisture", "thickness", "pressing", "drying"):
        assert set(records[kind]["sheet_id"]) == set(sheets)


def test_a_sheet_in_a_pack_measures_a_little_less_than_alone(simulation):
    readings = simulation.records["thickness"]
    per_sheet = readings["thickness_um"] / readings["sheets_in_pack"]
    means = per_sheet.groupby([readings["sheet_id"], readings["sheets_in_pack"]]).mean().unstack().dropna()
    assert len(means) >= 20
    assert (means[5] / means[1]).mean() == pytest.approx(0.96, abs=0.005)


def test_sheets_are_formed_then_pressed_then_dried_then_tested_a_day_later(simulation):
    records = simulation.records
    formed = records["forming"].groupby("sheet_id")["formed_at_utc"].max()
    pressed = records["pressing"].groupby("sheet_id")["pressed_at_utc"].agg(["min", "max"])
    dried = records["drying"].groupby("sheet_id")["dried_at_utc"].max()
    assert (pressed["min"] > formed).all()
    assert (dried > pressed["max"]).all()
    for kind in ("basis_weight", "moisture", "thickness", "tensile"):
        tested = records[kind].groupby("sheet_id")["tested_at_utc"].min()
        assert (tested - dried > pd.Timedelta(hours=20)).all()


def test_every_test_is_made_in_a_stay_of_more_than_the_required_four_hours(simulation):
    records = simulation.records
    stay = records["conditioning"].set_index("sheet_id")
    for kind in ("basis_weight", "moisture", "thickness", "tensile"):
        stays = stay.loc[records[kind]["sheet_id"]]
        tested_at = records[kind]["tested_at_utc"].to_numpy()
        assert (tested_at - stays["in_at_utc"] > pd.Timedelta(hours=12)).all()
        assert (stays["out_at_utc"] > tested_at).all()


def test_the_testers_of_a_room_are_those_whose_sheets_lie_in_it(simulation):
    records = simulation.records
    rooms = (
        records["tensile"].merge(records["conditioning"], on="sheet_id").groupby("tester")["room"].unique()
    )
    assert rooms.map(list).to_dict() == {"tensile-si": ["room 1"], "tensile-us": ["room 2"]}


def test_each_tank_is_filled_before_use_and_never_holds_two_furnishes_at_once(simulation):
    events, layers = simulation.records["tank"], simulation.records["forming"]
    for tank, in_tank in events.groupby("tank"):
        expected = ["filled", "consistency_checked", "drained", "cleaned"]
        assert in_tank["event"].tolist() == expected * (len(in_tank) // 4)
        fills = in_tank[in_tank["event"] == "filled"]
        drawn = layers[layers["tank"] == tank].sort_values("formed_at_utc")
        last_fill = pd.merge_asof(
            drawn, fills, left_on="formed_at_utc", right_on="happened_at_utc", suffixes=("", "_filled")
        )
        assert (last_fill["furnish"] == last_fill["furnish_filled"]).all()


def test_draws_do_not_exceed_the_filling(simulation):
    filled = simulation.records["tank"]["volume_l"].sum()
    assert simulation.records["forming"]["stock_volume_l"].sum() < filled


def test_recipes_contain_the_set_points(simulation):
    layers = simulation.records["forming"].merge(
        simulation.records["recipe"], on=["recipe", "recipe_version"], suffixes=("", "_set")
    )
    assert len(layers) == len(simulation.records["forming"])
    assert (layers["flow_rate_l_min"] / layers["flow_rate_l_min_set"]).sub(1).abs().max() < 0.02
    one_layer = layers["stock_volume_l_set"].notna()
    assert np.allclose(layers["stock_volume_l"][one_layer], layers["stock_volume_l_set"][one_layer])


def test_more_sheets_begin_earlier_and_end_on_the_same_day():
    few, many = (simulate(sheets, seed=1).records["forming"]["formed_at_utc"] for sheets in (60, 600))
    assert many.min() < few.min() - pd.Timedelta(days=20)
    assert many.max().date() == few.max().date()
