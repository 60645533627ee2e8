-- Standard uncertainty from a largest error: half-width of a rectangular distribution over the square root of 3, in
-- its unit. Source: GUM, JCGM 100:2008, 4.3.7, from memory.
CREATE OR REPLACE MACRO standard_uncertainty(largest_error) AS
    largest_error / sqrt(3.0);
