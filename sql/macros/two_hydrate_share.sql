-- Mole of water per mole of dry wood, from the activity a = K h of the dissolved water and the equilibrium constants
-- of the two hydrates: a/(1 - a) + (K1 a + 2 K1 K2 a^2)/(1 + K1 a + K1 K2 a^2).
-- Source: USDA Forest Products Laboratory, research note FPL-RN-0268.
CREATE OR REPLACE MACRO two_hydrate_share(activity, first_hydrate, second_hydrate) AS
    activity / (1 - activity)
    + (first_hydrate * activity + 2 * first_hydrate * second_hydrate * activity ** 2)
    / (1 + first_hydrate * activity + first_hydrate * second_hydrate * activity ** 2);
