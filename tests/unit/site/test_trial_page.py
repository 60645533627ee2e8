"""The page of a trial: what stands in its HTML and its data, for the demo laboratory and for hostile texts."""

import json
import re

import pytest

from pipelines.site import links
from pipelines.site.reading import Published, read
from pipelines.site.trial.page import STRIPS_AT_MOST, page

LADDER = "jet-to-wire ladder"
HOSTILE = '</script><img src=x onerror="alert(1)">{{ 7 * 7 }}\u202e javascript:alert(1)'


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def made(published, trial):
    (row,) = [row for row in published.all("trial") if row["trial"] == trial]
    return page(published, row)


def data_of(html):
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', html, re.S)
    return json.loads(content)


def test_the_values_drawn_are_those_of_the_snapshot(published):
    content = data_of(made(published, LADDER))
    columns = content["data"]["values"]["columns"]
    drawn = {
        (row["sheet_id"], row["direction"], row["property"]): row["value"]
        for row in (dict(zip(columns, cells, strict=True)) for cells in content["data"]["values"]["rows"])
    }
    of_trial = [
        row for row in published.of("trial_value", trial=LADDER) if row["direction"] in ("MD", "CD", "MD/CD")
    ]
    assert len(drawn) == len(of_trial) > 400
    for row in of_trial:
        found = drawn[row["sheet_id"], row["direction"], row["property"]]
        assert found == pytest.approx(row["value"], rel=1e-7)


def test_every_figure_has_a_title_and_axis_titles_for_every_property(published):
    content = data_of(made(published, LADDER))
    assert set(content["figures"]) == {"response", "density", "points", "strips"}
    for figure in content["figures"].values():
        assert len(figure["variants"]) == 9
        for name, variant in figure["variants"].items():
            assert variant["put"]["@property"] == name
            assert variant["title"]
    put = content["figures"]["points"]["variants"]["tensile_stiffness_index"]["put"]
    assert put["@value_title"] == "Tensile stiffness index, kN·m/g"
    assert put["@ratio_title"] == "Tensile stiffness index, MD/CD"
    assert put["@density_title"] == "Apparent density, kg/m³"


def test_a_trial_at_one_ratio_has_no_response_and_one_of_layers_has_a_chart_of_them(published):
    figures = data_of(made(published, "layered sheets"))["figures"]
    assert set(figures) == {"density", "points", "strips", "layers"}


def test_what_all_points_have_in_common_is_told_once(published):
    html = made(published, LADDER)
    table = html[html.index("Forming, pressing and drying of each trial point") :]
    assert "<dt>Consistency, %</dt><dd>0.3000</dd>" in html
    assert "Consistency" not in table[: table.index("</table>")]
    assert "Jet-to-wire ratio" in table[: table.index("</table>")]


def test_pieces_left_out_are_in_the_data_with_their_reason(published):
    content = data_of(made(published, LADDER))
    columns = content["data"]["pieces"]["columns"]
    rows = [dict(zip(columns, cells, strict=True)) for cells in content["data"]["pieces"]["rows"]]
    left_out = [row for row in rows if not row["in_means"]]
    assert left_out
    assert all(row["left_out_because"] for row in left_out)


def test_texts_from_files_stay_text(published):
    def hostile(row):
        texts = ("trial", "trial_point", "sheet_id", "furnishes", "furnish", "furnish_composition")
        return {key: HOSTILE if key in texts else value for key, value in row.items()}

    rows = {
        name: [hostile(row) for row in published.of(name, trial=LADDER)]
        for name in (
            "trial_value", "trial_mean", "trial_sheet", "trial_piece", "trial_layer", "trial_response", "trial_curve",
            "trial_condition",
        )
    }  # fmt: skip
    rows["setting"] = [{**published.all("setting")[0], "laboratory": HOSTILE}]
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    html = page(Published(rows), hostile(trial))
    assert "<img" not in html
    assert html.count("</script>") == html.count("<script")
    assert "{{ 7 * 7 }}" in html
    assert not re.search(r"href=['\"]?javascript", html)
    assert "\u202e" not in html, "a sign that turns the text around it is shown as a dot"
    assert data_of(html)["data"]["values"]["rows"][0][0] == HOSTILE.replace("\u202e", "·")
    assert re.fullmatch(r"trial/[a-z0-9-]+\.html", links.trial_page(HOSTILE))


def test_a_trial_of_very_many_sheets_draws_the_pieces_of_its_last_ones(published):
    sheet = published.of("trial_sheet", trial=LADDER)[0]
    piece = published.of("trial_piece", trial=LADDER)[0]
    many = STRIPS_AT_MOST + 20
    names = [f"S{number:04}" for number in range(many)]
    rows = {
        name: [] for name in ("trial_value", "trial_mean", "trial_layer", "trial_response", "trial_curve")
    }
    rows["setting"] = published.all("setting")
    rows["trial_condition"] = published.of("trial_condition", trial=LADDER)
    rows["trial_sheet"] = [{**sheet, "sheet_id": name} for name in names]
    rows["trial_piece"] = [{**piece, "sheet_id": name} for name in names]
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    content = data_of(page(Published(rows), trial))
    assert len(content["data"]["pieces"]["rows"]) == STRIPS_AT_MOST
    assert set(content["figures"]) == {"strips"}, "pieces without a mean are drawn all the same"
    assert (
        f"The last {STRIPS_AT_MOST} of {many} sheets."
        in content["figures"]["strips"]["variants"]["tensile_index"]["note"]
    )


def test_a_trial_without_tensile_tests_shows_the_means_it_has(published):
    rows = {name: published.of(name, trial=LADDER) for name in ("trial_sheet", "trial_condition")}
    rows |= {
        name: [] for name in ("trial_value", "trial_piece", "trial_layer", "trial_response", "trial_curve")
    }
    means = [row for row in published.of("trial_mean", trial=LADDER) if row["property"] == "thickness"]
    rows |= {"trial_mean": means, "setting": published.all("setting")}
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    html = page(Published(rows), trial)
    assert data_of(html)["figures"] == {}
    assert '<th scope="col">Trial point</th>' in html
    assert html.count("<td>Thickness</td>") == len(means) > 0
    assert "No test of this trial counts in means: " in page(Published(rows | {"trial_mean": []}), trial)
