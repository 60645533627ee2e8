-- Grammage in g/m2 on a basis, conditioned or oven_dry, from the one on the other basis in g/m2 and the moisture
-- content in % (wet basis). Source: follows from the definitions.
CREATE OR REPLACE MACRO on_basis(basis, grammage_on_other_basis_g_m2, moisture_pct) AS
    CASE basis
        WHEN 'conditioned' THEN conditioned_grammage_g_m2(grammage_on_other_basis_g_m2, moisture_pct)
        WHEN 'oven_dry' THEN oven_dry_grammage_g_m2(grammage_on_other_basis_g_m2, moisture_pct)
    END;
