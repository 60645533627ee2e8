-- What the parts of a mean's uncertainty come to, from a struct of standard uncertainties in the unit of the mean, NULL for
-- what is not known: standard is all of them combined, systematic those owed to testers, which more readings do not
-- reduce; random_parts and systematic_parts name them. Source: GUM, JCGM 100:2008, 5.1.2, from memory.
CREATE OR REPLACE MACRO uncertainty_budget(part) AS
    {
        'standard': combined_uncertainty([
            part.scatter ** 2, part.grammage_scatter ** 2, part.moisture_scatter ** 2, part.thickness_scatter ** 2,
            part.force ** 2, part.elongation ** 2, part.width ** 2, part.span ** 2,
            part.grammage ** 2, part.moisture ** 2, part.thickness ** 2
        ]),
        'systematic': combined_uncertainty([
            part.force ** 2, part.elongation ** 2, part.width ** 2, part.span ** 2,
            part.grammage ** 2, part.moisture ** 2, part.thickness ** 2
        ]),
        'random_parts': concat_ws(
            ', ',
            CASE WHEN part.scatter IS NOT NULL THEN 'scatter' END,
            CASE WHEN part.grammage_scatter IS NOT NULL THEN 'scatter of grammage' END,
            CASE WHEN part.moisture_scatter IS NOT NULL THEN 'scatter of moisture' END,
            CASE WHEN part.thickness_scatter IS NOT NULL THEN 'scatter of thickness' END
        ),
        'systematic_parts': concat_ws(
            ', ',
            CASE WHEN part.force IS NOT NULL THEN 'force' END,
            CASE WHEN part.elongation IS NOT NULL THEN 'elongation' END,
            CASE WHEN part.width IS NOT NULL THEN 'width' END,
            CASE WHEN part.span IS NOT NULL THEN 'span' END,
            CASE WHEN part.grammage IS NOT NULL THEN 'grammage' END,
            CASE WHEN part.moisture IS NOT NULL THEN 'moisture' END,
            CASE WHEN part.thickness IS NOT NULL THEN 'thickness' END
        )
    };
