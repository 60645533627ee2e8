-- Bulk in cm3/g: thickness in um over grammage in g/m2.
-- Source: definition in ISO 534.
CREATE OR REPLACE MACRO bulk_cm3_g(grammage_g_m2, thickness_um) AS
    thickness_um / grammage_g_m2;
