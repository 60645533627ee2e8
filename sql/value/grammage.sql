-- Purpose: the grammage of each sheet on each basis. A grammage on a basis that was not weighed is computed from the
--     other basis and the moisture; it has no spread of its own. per_moisture is its relative change per percent of
--     that moisture.
-- Grain: One row per sheet with weighings or oven-dry pairs, and basis.
-- Inputs: value.measured_mean, value.moisture, main.setting
WITH weighed AS (
    SELECT *
    FROM value.measured_mean
    WHERE property = 'grammage' AND preferred
),

on_each_basis AS (
    SELECT
        moisture.sheet_id,
        possible.basis,
        own.mean IS NULL AND possible.other IS NOT NULL AS derive,
        moisture.basis_mean AS moisture_pct,
        CASE WHEN derive THEN other.n + moisture.basis_n ELSE coalesce(own.n, 0) END AS n,
        CASE
            WHEN derive AND possible.basis = 'oven_dry'
                THEN coalesce(other.n_left_out, 0) + coalesce(moisture.n_left_out, 0)
            ELSE coalesce(own.n_left_out, 0)
        END AS n_left_out,
        CASE WHEN derive THEN on_basis(possible.basis, other.mean, moisture_pct) ELSE own.mean END AS mean,
        CASE WHEN NOT derive THEN own.s END AS s,
        CASE WHEN derive THEN on_basis(possible.basis, other.random, moisture_pct) ELSE own.random END AS random,
        CASE WHEN derive THEN on_basis(possible.basis, other.systematic, moisture_pct) ELSE own.systematic END
            AS systematic,
        CASE WHEN derive THEN greatest(other.verdict_rank, moisture.verdict_rank) ELSE own.verdict_rank END
            AS verdict_rank
    FROM value.moisture AS moisture
    CROSS JOIN (
        VALUES ('conditioned', 'oven_dry'), ('oven_dry', 'conditioned'), ('as_received', NULL)
    ) AS possible (basis, other)
    LEFT JOIN weighed AS own ON moisture.sheet_id = own.sheet_id AND possible.basis = own.basis
    LEFT JOIN weighed AS other ON moisture.sheet_id = other.sheet_id AND possible.other = other.basis
)

SELECT
    grammage.* EXCLUDE (derive, moisture_pct),
    grammage.basis = setting.grammage_basis AS is_selected,
    CASE WHEN grammage.mean IS NOT NULL AND grammage.basis <> 'as_received' THEN grammage.derive END AS derived,
    CASE
        WHEN derived AND grammage.basis = 'conditioned' THEN 1 / (100 - grammage.moisture_pct)
        WHEN derived THEN -1 / (100 - grammage.moisture_pct)
    END AS per_moisture
FROM on_each_basis AS grammage
CROSS JOIN main.setting AS setting
