-- Purpose: pieces weighed conditioned more than once: the change of mass since the last weighing that is at least the
--     required time earlier. Source of the criterion: ISO 187, from memory.
-- Grain: One row per such weighing with an earlier one at that distance.
-- Inputs: records.basis_weight, main.setting
WITH weighing AS (
    SELECT
        sheet_id,
        tester,
        specimen_no,
        tested_at_utc,
        favg(mass_g) AS mass_g
    FROM records.basis_weight
    WHERE record_status = 'loaded' AND state = 'conditioned' AND mass_g IS NOT NULL AND tested_at_utc IS NOT NULL
    GROUP BY sheet_id, tester, specimen_no, tested_at_utc
),

later AS (
    SELECT
        weighing.*,
        weighing.tested_at_utc - to_seconds(3600 * setting.mass_constancy_h) AS far_enough_back_utc
    FROM weighing
    CROSS JOIN main.setting AS setting
)

SELECT
    later.sheet_id,
    later.tester,
    later.specimen_no,
    later.tested_at_utc AS weighed_at_utc,
    100 * (later.mass_g - earlier.mass_g) / earlier.mass_g AS mass_change_pct,
    minutes_between(earlier.tested_at_utc, later.tested_at_utc) AS after_min
FROM later
ASOF INNER JOIN weighing AS earlier
    ON later.sheet_id = earlier.sheet_id
    AND later.tester = earlier.tester
    AND later.specimen_no = earlier.specimen_no
    AND later.far_enough_back_utc >= earlier.tested_at_utc
