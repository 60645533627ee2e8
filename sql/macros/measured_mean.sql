-- Mean and spread of a column's readings as a struct, like mean_and_spread, with the standard uncertainty of the
-- mean: random from the scatter of the readings, systematic from the testers. systematic_uncertainty is the
-- instrument error of each reading; it does not decrease with n, and with several testers the largest counts.
-- Source: GUM, JCGM 100:2008, 4.2.3, from memory; the largest: common practice, no source.
CREATE OR REPLACE MACRO measured_mean(value, systematic_uncertainty, counts) AS
    struct_insert(
        mean_and_spread(value, counts),
        random := error_of_mean(
            stddev_samp(value) FILTER (WHERE counts), count(value) FILTER (WHERE counts)
        ),
        systematic := max(systematic_uncertainty) FILTER (WHERE counts AND value IS NOT NULL)
    );
