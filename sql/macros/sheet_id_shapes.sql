-- The shapes of a sheet id: the id itself and the id without each one of its characters, as a list. Two ids that
-- are one added, lost, changed or swapped character apart have a shape in common.
-- Source: follows from the definition of the edit distance.
CREATE OR REPLACE MACRO sheet_id_shapes(sheet_id) AS
    list_transform(
        range(length(sheet_id) + 1),
        lambda gap: concat(left(sheet_id, gap), substring(sheet_id, gap + 2))
    );
