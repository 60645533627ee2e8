-- Purpose: the layers of each trial point's sheets, from the wire up.
-- Grain: One row per trial point, layer number and furnish.
-- Inputs: main.layer, main.trial_point
SELECT
    layer.trial,
    layer.trial_point,
    layer.layer_no,
    coalesce(layer.furnish, layer.tank_furnish) AS furnish,
    any_value(layer.furnish_composition) AS furnish_composition,
    count(*) AS n_sheets,
    favg(layer.oven_dry_mass_g) AS oven_dry_mass_g,
    favg(layer.jet_to_wire_ratio) AS jet_to_wire_ratio,
    favg(layer.consistency_pct) AS consistency_pct,
    favg(layer.stock_volume_l) AS stock_volume_l,
    string_agg(DISTINCT layer.tank, ', ' ORDER BY layer.tank) AS tanks,
    dense_rank() OVER (
        PARTITION BY layer.trial
        ORDER BY any_value(point.first_formed_at_utc) ASC NULLS LAST, layer.trial_point ASC
    ) AS place
FROM main.layer AS layer
INNER JOIN main.trial_point AS point ON layer.trial = point.trial AND layer.trial_point = point.trial_point
GROUP BY layer.trial, layer.trial_point, layer.layer_no, coalesce(layer.furnish, layer.tank_furnish)
ORDER BY layer.trial, place, layer.layer_no
