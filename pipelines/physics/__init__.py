"""Pure numerical functions: arrays in, arrays out, no input or output."""
