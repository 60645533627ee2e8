-- Must hold: a sheet's tensile index is the mean of the indices of its valid test pieces, to 1e-9.
-- Grain: One row per sheet and direction that breaks it.
-- Inputs: main.sheet_property, main.test_piece
WITH piece_mean AS (
    SELECT
        sheet_id,
        direction,
        grammage_basis,
        avg(tensile_index_nm_g) AS tensile_index_nm_g
    FROM main.test_piece
    WHERE in_means
    GROUP BY sheet_id, direction, grammage_basis
)

SELECT
    piece_mean.sheet_id,
    piece_mean.direction,
    piece_mean.tensile_index_nm_g,
    property.value
FROM piece_mean
LEFT JOIN main.sheet_property AS property
    ON piece_mean.sheet_id = property.sheet_id
    AND piece_mean.direction = property.direction
    AND piece_mean.grammage_basis = property.basis
    AND property.property = 'tensile_index'
WHERE
    (piece_mean.tensile_index_nm_g IS NULL) <> (property.value IS NULL)
    OR abs(piece_mean.tensile_index_nm_g - property.value) > 1e-9 * property.value
