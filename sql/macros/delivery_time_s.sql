-- Time in s to spray a volume of stock in L at a flow rate in L/min.
-- Source: definition.
CREATE OR REPLACE MACRO delivery_time_s(stock_volume_l, flow_rate_l_min) AS
    60.0 * stock_volume_l / flow_rate_l_min;
