-- Mean and spread of a column's readings as a struct, like mean_and_spread, with the standard uncertainty of the
-- mean: random from their scatter, systematic from their testers. systematic_uncertainty is each reading's own owed
-- to its tester; it does not shrink with n, and of several testers the largest counts. Source: GUM, JCGM 100:2008,
-- 4.2.3, from memory; the largest: common practice, no source.
CREATE OR REPLACE MACRO measured_mean(value, systematic_uncertainty, counts) AS
    struct_insert(
        mean_and_spread(value, counts),
        random := error_of_mean(
            stddev_samp(value) FILTER (WHERE counts), count(value) FILTER (WHERE counts)
        ),
        systematic := max(systematic_uncertainty) FILTER (WHERE counts AND value IS NOT NULL)
    );
