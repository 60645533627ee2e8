-- Breaking length in km: tensile index in N.m/g over the standard acceleration of gravity, 9.80665 m/s2.
-- Source: definition; some books divide by 9.81.
CREATE OR REPLACE MACRO breaking_length_km(tensile_index_nm_g) AS
    tensile_index_nm_g / 9.80665;
