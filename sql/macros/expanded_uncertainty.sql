-- Expanded uncertainty: twice the standard uncertainty (k = 2), about 95 % for an approximately normal result.
-- Source: GUM, JCGM 100:2008, 6.2.1 and 6.3.3, from memory.
CREATE OR REPLACE MACRO expanded_uncertainty(standard_uncertainty) AS
    2.0 * standard_uncertainty;
