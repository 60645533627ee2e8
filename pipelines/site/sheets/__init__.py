"""The table of all sheets: searched, filtered, sorted and taken away in the browser."""
