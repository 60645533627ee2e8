-- Combined uncertainty of a mean from a struct of standard uncertainties in the unit of the mean, NULL for unknown
-- contributions: standard combines all of them, systematic those of the testers, which more readings do not reduce;
-- both are NULL where nothing is known. known_parts has a bit for each known contribution, which
-- staging.uncertainty_part names. Source: GUM, JCGM 100:2008, 5.1.2, from memory.
CREATE OR REPLACE MACRO uncertainty_budget(part) AS
    {
        'standard': CASE
            WHEN
                coalesce(
                    part.scatter, part.grammage_scatter, part.moisture_scatter, part.thickness_scatter,
                    part.force, part.elongation, part.width, part.span, part.grammage, part.moisture, part.thickness
                ) IS NOT NULL
                THEN sqrt(
                    coalesce(part.scatter ** 2, 0)
                    + coalesce(part.grammage_scatter ** 2, 0)
                    + coalesce(part.moisture_scatter ** 2, 0)
                    + coalesce(part.thickness_scatter ** 2, 0)
                    + coalesce(part.force ** 2, 0)
                    + coalesce(part.elongation ** 2, 0)
                    + coalesce(part.width ** 2, 0)
                    + coalesce(part.span ** 2, 0)
                    + coalesce(part.grammage ** 2, 0)
                    + coalesce(part.moisture ** 2, 0)
                    + coalesce(part.thickness ** 2, 0)
                )
        END,
        'systematic': CASE
            WHEN
                coalesce(
                    part.force, part.elongation, part.width, part.span, part.grammage, part.moisture, part.thickness
                ) IS NOT NULL
                THEN sqrt(
                    coalesce(part.force ** 2, 0)
                    + coalesce(part.elongation ** 2, 0)
                    + coalesce(part.width ** 2, 0)
                    + coalesce(part.span ** 2, 0)
                    + coalesce(part.grammage ** 2, 0)
                    + coalesce(part.moisture ** 2, 0)
                    + coalesce(part.thickness ** 2, 0)
                )
        END,
        'known_parts':
            CASE WHEN part.scatter IS NULL THEN 0 ELSE 1 END
            + CASE WHEN part.grammage_scatter IS NULL THEN 0 ELSE 2 END
            + CASE WHEN part.moisture_scatter IS NULL THEN 0 ELSE 4 END
            + CASE WHEN part.thickness_scatter IS NULL THEN 0 ELSE 8 END
            + CASE WHEN part.force IS NULL THEN 0 ELSE 16 END
            + CASE WHEN part.elongation IS NULL THEN 0 ELSE 32 END
            + CASE WHEN part.width IS NULL THEN 0 ELSE 64 END
            + CASE WHEN part.span IS NULL THEN 0 ELSE 128 END
            + CASE WHEN part.grammage IS NULL THEN 0 ELSE 256 END
            + CASE WHEN part.moisture IS NULL THEN 0 ELSE 512 END
            + CASE WHEN part.thickness IS NULL THEN 0 ELSE 1024 END
    };
