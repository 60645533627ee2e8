-- Equilibrium regain of wood in % of the dry mass, in air of a temperature in degrees Celsius and a relative
-- humidity in %: the two-hydrate sorption equation. Bleached pulp holds less, so it is an upper limit, never an
-- estimate of a sheet's moisture. Source: USDA Forest Products Laboratory, research note FPL-RN-0268.
CREATE OR REPLACE MACRO wood_equilibrium_regain_pct(temperature_c, relative_humidity_pct) AS
    1800.0 / (349 + 1.29 * temperature_c + 0.0135 * temperature_c ** 2) * (
        two_hydrate_share(
            (0.805 + 0.000736 * temperature_c - 0.00000273 * temperature_c ** 2) * relative_humidity_pct / 100,
            6.27 - 0.00938 * temperature_c - 0.000303 * temperature_c ** 2,
            1.91 + 0.0407 * temperature_c - 0.000293 * temperature_c ** 2
        )
    );
